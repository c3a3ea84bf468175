//! Conditions against the facts: whether a row applies, and to which lines.

use std::collections::BTreeMap;

use super::ledger::{Ledger, Names, Resolved};
use super::parcel::{Line, Parcel};
use crate::tables::{Coin, Collect, Condition, LineFact, Op, ParcelFact, Subject, When};
use crate::units::{Date, Dec, Overflow, Rate};

/// A condition with its names found and its amounts in the destination's money.
#[derive(Debug, Clone, Default)]
pub(super) struct Test {
    pub(super) any: Vec<Vec<Clause>>,
}

/// One comparison, prepared.
#[derive(Debug, Clone)]
pub(super) struct Clause {
    pub(super) subject: Subject,
    pub(super) sum: Resolved,
    pub(super) op: Op,
    pub(super) word: String,
    pub(super) number: Option<Dec>,
    day: Option<Date>,
}

/// What conditions look at.
#[derive(Clone, Copy)]
pub(super) struct Facts<'a> {
    pub(super) parcel: &'a Parcel,
    pub(super) ledger: &'a Ledger,
    pub(super) collect: &'a [Collect],
    pub(super) groups: &'a BTreeMap<String, String>,
}

impl Facts<'_> {
    /// Whether nobody has told a fact of a line's goods.
    fn untold(&self, name: &str, at: usize) -> bool {
        let line = self.parcel.lines.get(at);
        line.is_none_or(|line| !line.traits.contains_key(name))
    }
}

impl Test {
    /// Prepares a condition; `rate` turns a currency of the tables into the destination's money.
    pub(super) fn prepare(
        when: &When,
        names: &Names,
        rates: &BTreeMap<Coin, Rate>,
    ) -> Result<Test, Overflow> {
        let all = |side: &Vec<Condition>| {
            side.iter()
                .map(|c| Clause::prepare(c, names, rates))
                .collect::<Result<Vec<_>, _>>()
        };
        Ok(Test {
            any: when.any.iter().map(all).collect::<Result<_, _>>()?,
        })
    }

    /// The sides that can still hold when all but the open clauses have been looked at, each with its open ones.
    fn left(
        &self,
        facts: Facts<'_>,
        at: usize,
        open: fn(&Clause) -> bool,
    ) -> Result<Vec<Vec<&Clause>>, Overflow> {
        if self.any.is_empty() {
            return Ok(vec![Vec::new()]);
        }
        let mut sides = Vec::new();
        for side in &self.any {
            if all_hold(side.iter().filter(|clause| !open(clause)), facts, at)? {
                sides.push(side.iter().filter(|clause| open(clause)).collect());
            }
        }
        Ok(sides)
    }

    /// What is left of it to ask of lines, once what it asks of the parcel has been looked at.
    pub(super) fn of_lines(&self, facts: Facts<'_>) -> Result<OfLines<'_>, Overflow> {
        let sides = self.left(facts, 0, |clause| clause.subject.of_a_line())?;
        Ok(OfLines(sides))
    }

    /// Whether it holds for one line.
    pub(super) fn holds(&self, facts: Facts<'_>, at: usize) -> Result<bool, Overflow> {
        for side in &self.any {
            if all_hold(side, facts, at)? {
                return Ok(true);
            }
        }
        Ok(self.any.is_empty())
    }
}

/// A condition of which only clauses about lines are left: all of one side must hold.
pub(super) struct OfLines<'a>(Vec<Vec<&'a Clause>>);

/// A fact that holds or does not, as the tables write it.
fn yes_no(yes: bool) -> &'static str {
    if yes { "yes" } else { "no" }
}

impl OfLines<'_> {
    /// Whether it holds for one line.
    pub(super) fn holds(&self, facts: Facts<'_>, at: usize) -> Result<bool, Overflow> {
        for side in &self.0 {
            if all_hold(side.iter().copied(), facts, at)? {
                return Ok(true);
            }
        }
        Ok(false)
    }
}

fn all_hold<'a>(
    clauses: impl IntoIterator<Item = &'a Clause>,
    facts: Facts<'_>,
    at: usize,
) -> Result<bool, Overflow> {
    for clause in clauses {
        if !clause.holds(facts, at)? {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Whether a condition can hold for one line by what is fixed of the parcel and its goods. What hangs on sums, on where the tax is
/// taken and on the value or mass of a piece is left open, and so are choices and facts of goods that nobody has told: they may hold.
pub(super) fn may_hold(when: &When, facts: Facts<'_>, at: usize) -> Result<bool, Overflow> {
    for side in &when.any {
        if side_may_hold(side, facts, at)? {
            return Ok(true);
        }
    }
    Ok(when.is_always())
}

/// Whether conditions can all hold, in the same sense as in [`may_hold`].
fn side_may_hold(side: &[Condition], facts: Facts<'_>, at: usize) -> Result<bool, Overflow> {
    let (names, rates) = (Names::default(), BTreeMap::new());
    let open = |subject: &Subject| match subject {
        Subject::Choice(name) => !facts.parcel.choices.contains_key(name),
        Subject::Trait(name) => facts.untold(name, at),
        _ => hangs_on_figures(subject),
    };
    for condition in side.iter().filter(|one| !open(&one.subject)) {
        if !Clause::prepare(condition, &names, &rates)?.holds(facts, at)? {
            return Ok(false);
        }
    }
    Ok(true)
}

/// The fact of goods without which a condition on goods of one country does not hold for a line, where nobody has told it and the
/// condition may hold by all else: its name and the value that is asked for.
pub(super) fn left_to_say<'a>(
    when: &'a When,
    facts: Facts<'_>,
    at: usize,
) -> Result<Option<(&'a str, &'a str)>, Overflow> {
    for side in &when.any {
        let origin = Subject::Line(LineFact::Origin);
        let of_one_country = side
            .iter()
            .any(|c| c.subject == origin && c.op == Op::Equal);
        if !of_one_country || !side_may_hold(side, facts, at)? {
            continue;
        }
        let mut open = side.iter().filter_map(|c| match &c.subject {
            Subject::Trait(name) if c.op != Op::Unequal && facts.untold(name, at) => {
                Some((name, c))
            }
            _ => None,
        });
        if let (Some((name, c)), None) = (open.next(), open.next())
            && c.op == Op::Equal
        {
            return Ok(Some((name, &c.word)));
        }
    }
    Ok(None)
}

/// Whether a condition on this is known only with the figures of the parcel.
pub(super) fn hangs_on_figures(subject: &Subject) -> bool {
    matches!(
        subject,
        Subject::Sum(_)
            | Subject::Line(LineFact::Collect | LineFact::UnitValue | LineFact::UnitMass)
    )
}

impl Clause {
    pub(super) fn prepare(
        condition: &Condition,
        names: &Names,
        rates: &BTreeMap<Coin, Rate>,
    ) -> Result<Clause, Overflow> {
        let sum = match &condition.subject {
            Subject::Sum(sum) => names.resolve(sum),
            _ => Resolved::default(),
        };
        let rate = condition
            .currency
            .and_then(|currency| rates.get(&currency))
            .copied()
            .unwrap_or(Rate::SAME);
        let number = condition.number.map(|n| rate.convert(n)).transpose()?;
        Ok(Clause {
            subject: condition.subject.clone(),
            sum,
            op: condition.op,
            word: condition.word.clone(),
            number,
            day: condition.day,
        })
    }

    /// Whether a condition on the commodity or the origin holds for goods.
    pub(super) fn holds_for_goods(
        &self,
        commodity: &str,
        origin: &str,
        groups: &BTreeMap<String, String>,
    ) -> bool {
        match self.subject {
            Subject::Line(LineFact::Commodity) => self.commodity(commodity),
            _ => self.country(origin, groups),
        }
    }

    pub(super) fn holds(&self, facts: Facts<'_>, at: usize) -> Result<bool, Overflow> {
        let Some(line) = facts.parcel.lines.get(at) else {
            return Ok(false);
        };
        Ok(match &self.subject {
            Subject::Sum(_) => {
                let total =
                    facts
                        .ledger
                        .over(&self.sum, 0..facts.parcel.lines.len(), facts.parcel)?;
                self.number(Some(total))
            }
            Subject::Parcel(fact) => self.parcel(*fact, facts),
            Subject::Choice(name) => self.word(facts.parcel.choices.get(name).map(String::as_str)),
            Subject::Trait(name) => self.trait_of(line, name),
            Subject::Line(fact) => self.line(*fact, line, at, facts)?,
        })
    }

    fn parcel(&self, fact: ParcelFact, facts: Facts<'_>) -> bool {
        let parcel = facts.parcel;
        match fact {
            ParcelFact::To => self.country(parcel.to.code(), facts.groups),
            ParcelFact::Dispatch => self.country(parcel.dispatch.code(), facts.groups),
            ParcelFact::Region => self.word(some(&parcel.region)),
            ParcelFact::Channel => self.word(Some(parcel.channel.name())),
            ParcelFact::Sender => self.word(Some(parcel.sender.name())),
            ParcelFact::Given => self.word(Some(yes_no(parcel.given()))),
            ParcelFact::CollectsTax => self.word(Some(yes_no(parcel.collects_tax))),
            ParcelFact::Terms => self.word(some(&parcel.terms)),
            ParcelFact::Ordered => self.day(parcel.ordered),
            ParcelFact::Arrival => self.day(parcel.arrival),
        }
    }

    fn line(
        &self,
        fact: LineFact,
        line: &Line,
        at: usize,
        facts: Facts<'_>,
    ) -> Result<bool, Overflow> {
        Ok(match fact {
            LineFact::Place => self.place(line),
            LineFact::Commodity => self.commodity(&line.commodity),
            LineFact::Origin => self.country(&line.origin, facts.groups),
            LineFact::Preference => self.word(Some(yes_no(line.preference))),
            LineFact::Assembled => self.word(Some(yes_no(line.whole.is_some()))),
            LineFact::Collect => self.word(facts.collect.get(at).map(|c| c.name())),
            LineFact::UnitMass => self.number(unit_mass(line, at, facts.parcel)?),
            LineFact::UnitValue => {
                const GOODS: usize = 1;
                let together = facts.parcel.declared_with(at);
                let value = Dec::total(
                    together
                        .into_iter()
                        .map(|other| facts.ledger.get(GOODS, other)),
                )?;
                let pieces = facts.parcel.declared_pieces(at);
                self.number(Some(if pieces > 1 {
                    value.over(Dec::from(pieces))?
                } else {
                    value
                }))
            }
        })
    }

    /// Places match whole, or one of several.
    fn place(&self, line: &Line) -> bool {
        let found = line.places.contains(&self.word) || line.places.join(" + ") == self.word;
        (self.op == Op::Equal && found) || (self.op == Op::Unequal && !found)
    }

    /// Commodities match by prefix.
    fn commodity(&self, digits: &str) -> bool {
        let found = digits.starts_with(self.word.as_str());
        (self.op == Op::Equal && found && !digits.is_empty()) || (self.op == Op::Unequal && !found)
    }

    /// A country also matches its group.
    fn country(&self, code: &str, groups: &BTreeMap<String, String>) -> bool {
        let group = groups.get(code).is_some_and(|group| *group == self.word);
        let found = !code.is_empty() && (code == self.word || group);
        (self.op == Op::Equal && found) || (self.op == Op::Unequal && !found)
    }

    fn trait_of(&self, line: &Line, name: &str) -> bool {
        match (line.figure(name), self.number) {
            (Some(left), Some(right)) => self.op.holds(&left, &right),
            _ => self.word(line.traits.get(name).map(String::as_str)),
        }
    }

    /// A name without a value equals nothing.
    fn word(&self, value: Option<&str>) -> bool {
        match value {
            None => self.op == Op::Unequal,
            Some(value) => self.op.holds(value, self.word.as_str()),
        }
    }

    fn number(&self, value: Option<Dec>) -> bool {
        match value.zip(self.number) {
            None => self.op == Op::Unequal,
            Some((left, right)) => self.op.holds(&left, &right),
        }
    }

    fn day(&self, value: Date) -> bool {
        self.day.is_some_and(|day| self.op.holds(&value, &day))
    }
}

/// What one piece of a line weighs; of a thing declared as one, all its parts together. None where one of them is not known.
fn unit_mass(line: &Line, at: usize, parcel: &Parcel) -> Result<Option<Dec>, Overflow> {
    let Some(whole) = line.whole else {
        return Ok(line.unit_mass.map(|mass| mass.0));
    };
    let mut sum = Dec::ZERO;
    for part in parcel
        .declared_with(at)
        .into_iter()
        .filter_map(|other| parcel.lines.get(other))
    {
        let Some(mass) = part.unit_mass else {
            return Ok(None);
        };
        sum = sum.plus(mass.times(part.pieces)?.0)?;
    }
    Ok(Some(if whole > 1 {
        sum.over(Dec::from(whole))?
    } else {
        sum
    }))
}

fn some(text: &str) -> Option<&str> {
    (!text.is_empty()).then_some(text)
}
