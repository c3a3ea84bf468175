//! The small language of conditions: `channel = post & customs_value <= 1000 AUD | given = yes`.
//!
//! ` & ` binds tighter than ` | `; there are no brackets. Here it is only read; what a name equals is known to `rules`.

use std::fmt;

use super::coin::Coin;
use super::destination::land;
use crate::tables::sum::SumExpr;
use crate::text::words;
use crate::units::{Date, Dec, number};

/// Alternatives, each a list of conditions that must all hold. Empty: always holds.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct When {
    /// The alternatives.
    pub(crate) any: Vec<Vec<Condition>>,
}

/// One comparison.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Condition {
    /// What is compared.
    pub(crate) subject: Subject,
    /// How.
    pub(crate) op: Op,
    /// With what, as written.
    pub(crate) word: String,
    /// With what, as a number, when it is one.
    pub(crate) number: Option<Dec>,
    /// The currency behind the number.
    pub(crate) currency: Option<Coin>,
    /// With what, as a day, when it is one.
    pub(crate) day: Option<Date>,
}

/// A comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Op {
    Equal,
    Unequal,
    Below,
    AtMost,
    Above,
    AtLeast,
}

const OPS: [(&str, Op); 6] = [
    ("!=", Op::Unequal),
    ("<=", Op::AtMost),
    (">=", Op::AtLeast),
    ("=", Op::Equal),
    ("<", Op::Below),
    (">", Op::Above),
];

impl Op {
    /// Reads one.
    pub(crate) fn parse(text: &str) -> Result<Op, String> {
        crate::text::words::one_of(&OPS, text)
    }

    /// Whether two ordered things stand so.
    pub(crate) fn holds<T: PartialOrd + ?Sized>(self, left: &T, right: &T) -> bool {
        match self {
            Op::Equal => left == right,
            Op::Unequal => left != right,
            Op::Below => left < right,
            Op::AtMost => left <= right,
            Op::Above => left > right,
            Op::AtLeast => left >= right,
        }
    }
}

impl fmt::Display for Op {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(crate::text::words::word_of(&OPS, *self))
    }
}

/// What a condition looks at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Subject {
    /// A fact of the consignment.
    Parcel(ParcelFact),
    /// A choice the user makes for a destination.
    Choice(String),
    /// A fact of a line.
    Line(LineFact),
    /// A fact a line may carry.
    Trait(String),
    /// A sum over the consignment; in `places.csv`, a setting of the bike.
    Sum(SumExpr),
}

/// Facts of a consignment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ParcelFact {
    To,
    Region,
    Channel,
    Dispatch,
    Sender,
    Given,
    CollectsTax,
    Terms,
    Ordered,
    Arrival,
}

/// Facts of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum LineFact {
    Place,
    Commodity,
    Origin,
    Preference,
    Assembled,
    Collect,
    UnitValue,
    UnitMass,
}

const PARCEL_FACTS: [(&str, ParcelFact); 10] = [
    ("to", ParcelFact::To),
    ("region", ParcelFact::Region),
    ("channel", ParcelFact::Channel),
    ("dispatch", ParcelFact::Dispatch),
    ("sender", ParcelFact::Sender),
    ("given", ParcelFact::Given),
    ("collects_tax", ParcelFact::CollectsTax),
    ("terms", ParcelFact::Terms),
    ("ordered", ParcelFact::Ordered),
    ("arrival", ParcelFact::Arrival),
];

const LINE_FACTS: [(&str, LineFact); 8] = [
    ("place", LineFact::Place),
    ("commodity", LineFact::Commodity),
    ("origin", LineFact::Origin),
    ("preference", LineFact::Preference),
    ("assembled", LineFact::Assembled),
    ("collect", LineFact::Collect),
    ("unit_value", LineFact::UnitValue),
    ("unit_mass", LineFact::UnitMass),
];

impl Subject {
    fn parse(text: &str) -> Result<Subject, String> {
        if let Some(name) = text.strip_prefix("choice.") {
            return Ok(Subject::Choice(name.to_owned()));
        }
        if let Some(name) = text.strip_prefix("trait.") {
            return Ok(Subject::Trait(name.to_owned()));
        }
        if let Some((_, fact)) = PARCEL_FACTS.iter().find(|(name, _)| *name == text) {
            return Ok(Subject::Parcel(*fact));
        }
        if let Some((_, fact)) = LINE_FACTS.iter().find(|(name, _)| *name == text) {
            return Ok(Subject::Line(*fact));
        }
        SumExpr::parse(text).map(Subject::Sum)
    }

    /// Whether it is a country.
    pub(super) fn is_land(&self) -> bool {
        matches!(
            self,
            Subject::Parcel(ParcelFact::To | ParcelFact::Dispatch)
                | Subject::Line(LineFact::Origin)
        )
    }

    /// Whether it is a fact of a line, which picks the lines a row works on.
    pub(crate) fn of_a_line(&self) -> bool {
        matches!(self, Subject::Line(_) | Subject::Trait(_))
    }

    /// Every name a condition may use beside sums.
    pub(crate) fn names() -> impl Iterator<Item = &'static str> {
        PARCEL_FACTS
            .iter()
            .map(|(name, _)| *name)
            .chain(LINE_FACTS.iter().map(|(name, _)| *name))
    }
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Subject::Parcel(fact) => f.write_str(crate::text::words::word_of(&PARCEL_FACTS, *fact)),
            Subject::Line(fact) => f.write_str(crate::text::words::word_of(&LINE_FACTS, *fact)),
            Subject::Choice(name) => write!(f, "choice.{name}"),
            Subject::Trait(name) => write!(f, "trait.{name}"),
            Subject::Sum(sum) => sum.fmt(f),
        }
    }
}

impl When {
    /// Reads a condition; empty text always holds.
    pub(crate) fn parse(text: &str) -> Result<When, String> {
        if text.is_empty() {
            return Ok(When::default());
        }
        if text.contains(['(', ')']) {
            return Err("conditions have no brackets: repeat what both sides need".to_owned());
        }
        let all = |side: &str| {
            side.split(" & ")
                .map(|c| Condition::parse(c.trim()))
                .collect::<Result<Vec<_>, _>>()
        };
        Ok(When {
            any: text.split(" | ").map(all).collect::<Result<_, _>>()?,
        })
    }

    /// Whether it always holds.
    pub(crate) fn is_always(&self) -> bool {
        self.any.is_empty()
    }

    /// Whether it can hold at a destination at all: a group's folder holds rows of single members.
    pub(crate) fn can_hold_at(&self, to: &str, group: &str) -> bool {
        let is_named = |word: &str| word == to || word == group;
        let here = |condition: &Condition| match (&condition.subject, condition.op) {
            (Subject::Parcel(ParcelFact::To), Op::Equal) => is_named(&condition.word),
            (Subject::Parcel(ParcelFact::To), Op::Unequal) => !is_named(&condition.word),
            _ => true,
        };
        self.is_always() || self.any.iter().any(|side| side.iter().all(here))
    }

    /// All its conditions.
    pub(crate) fn conditions(&self) -> impl Iterator<Item = &Condition> {
        self.any.iter().flatten()
    }

    /// Whether it looks at the day of ordering, so that the row is in force by that day and not by arrival.
    pub(crate) fn looks_at_order_day(&self) -> bool {
        self.conditions()
            .any(|c| c.subject == Subject::Parcel(ParcelFact::Ordered))
    }
}

impl Condition {
    fn parse(text: &str) -> Result<Condition, String> {
        let expected = || {
            format!("`{text}` is not a condition; expected `NAME = VALUE`, or one of != < <= > >=")
        };
        let words: Vec<&str> = text.split(' ').filter(|w| !w.is_empty()).collect();
        let at = words
            .iter()
            .position(|w| OPS.iter().any(|(op, _)| op == w))
            .ok_or_else(expected)?;
        let (subject, value) = (words[..at].join(" "), &words[at + 1..]);
        let (value, unit) = match value {
            [value] => (*value, None),
            [value, unit] => (*value, Some(*unit)),
            _ => return Err(expected()),
        };
        let mut number = number::plain(value).ok();
        let mut currency = None;
        match unit {
            None | Some("g") => {}
            Some("kg") => number = number.and_then(|n| n.times(Dec::THOUSAND).ok()),
            Some(code) => {
                currency = Some(
                    Coin::parse(code)
                        .map_err(|expected| format!("`{code}` is not a currency: {expected}"))?,
                );
            }
        }
        if unit.is_some() && number.is_none() {
            return Err(expected());
        }
        let day = Date::parse(value).ok();
        let subject = Subject::parse(&subject)?;
        let word = if subject.is_land() {
            land(value)?
        } else {
            value.to_owned()
        };
        let condition = Condition {
            subject,
            op: Op::parse(words[at])?,
            word,
            number,
            currency,
            day,
        };
        condition
            .fits()
            .map_err(|expected| format!("{expected} in `{text}`"))?;
        Ok(condition)
    }

    /// Whether its value can ever be what its subject is: a word that no parcel has would switch the row off unseen.
    fn fits(&self) -> Result<(), String> {
        let known: &[&str] = match &self.subject {
            Subject::Parcel(ParcelFact::Channel) => &["post", "courier"],
            Subject::Parcel(ParcelFact::Sender) => &["business", "marketplace", "private", "gift"],
            Subject::Parcel(ParcelFact::Given | ParcelFact::CollectsTax)
            | Subject::Line(LineFact::Preference | LineFact::Assembled) => &["yes", "no"],
            Subject::Line(LineFact::Collect) => &["at-sale", "at-border", "none"],
            _ => &[],
        };
        let of_days = matches!(
            self.subject,
            Subject::Parcel(ParcelFact::Ordered | ParcelFact::Arrival)
        );
        let of_figures = matches!(
            self.subject,
            Subject::Line(LineFact::UnitValue | LineFact::UnitMass)
        );
        let of_words = !known.is_empty() || self.subject.is_land();
        if !known.is_empty() && !known.contains(&self.word.as_str()) {
            return Err(format!("expected {}", words::list(known, "or")));
        }
        if of_days && self.day.is_none() {
            return Err("expected a date such as `2026-03-02`".to_owned());
        }
        if of_figures && self.number.is_none() {
            return Err("expected a number".to_owned());
        }
        if of_words && !matches!(self.op, Op::Equal | Op::Unequal) {
            return Err("expected = or !=".to_owned());
        }
        Ok(())
    }
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} {}", self.subject, self.op, self.word)?;
        self.currency
            .map_or(Ok(()), |currency| write!(f, " {currency}"))
    }
}

impl fmt::Display for When {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.is_always() {
            return Ok(());
        }
        let side = |all: &Vec<Condition>| {
            let all: Vec<String> = all.iter().map(ToString::to_string).collect();
            all.join(" & ")
        };
        f.write_str(&self.any.iter().map(side).collect::<Vec<_>>().join(" | "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn conditions_read_and_print_alike() {
        for text in [
            "channel = post",
            "given = no & preference = yes | dispatch != US",
            "customs_value <= 1000 AUD",
            "intrinsic_value <= 150 EUR@october",
            "s301 + s122 > 0",
            "trait.finish != raw",
            "assembled = yes",
            "ordered >= 2026-07-01",
        ] {
            assert_eq!(When::parse(text).unwrap().to_string(), text);
        }
    }

    #[test]
    fn broken_conditions_say_why() {
        for text in [
            "channel",
            "channel = ",
            "channel == post",
            "(channel = post)",
            "goods > 5 XYZ",
            "goods > 5 EUR@may",
            "channel = post &",
            "channel = pots",
            "dispatch = taiwann",
            "given < yes",
            "assembled = bicycle",
            "arrival >= soon",
        ] {
            assert!(When::parse(text).is_err(), "{text:?}");
        }
    }
}
