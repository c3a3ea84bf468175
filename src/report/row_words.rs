//! Rows of law in plain words, for the pages of `rates/`: what a charge, a limit, a rate, a sum and a condition say.

use super::plain::{day_word, money, place, rate_by};
use crate::tables::{
    Charge, Collect, Condition, Drop, Factor, Kind, Level, LineFact, Op, ParcelFact, Per, RateFrom,
    Relief, Subject, SumExpr, TariffRow, Term, TestPer, When,
};
use crate::text::words::list;
use crate::units::Dec;

pub(super) fn with_when(what: String, rule: &When) -> String {
    if rule.is_always() {
        what
    } else {
        format!("{what}; when {}", when(rule))
    }
}

pub(super) fn kind_word(charge: &Charge) -> &'static str {
    match charge.kind {
        Kind::Value => "a figure that nobody pays",
        Kind::Duty => "customs duty",
        Kind::Remedy => "anti-dumping or countervailing duty",
        Kind::Tax => "tax at the border",
        Kind::SaleTax => "tax that the seller takes",
        Kind::Fee if charge.carriers => {
            "fee of the carrier, in whose place the seller's `handling` stands"
        }
        Kind::Fee => "fee of the authority",
    }
}

pub(super) fn charge(c: &Charge) -> String {
    let base = c.of.as_ref().map(sum).unwrap_or_default();
    let rated = match (&c.percent, &c.rate_from) {
        (Some(percent), _) => Some(format!("{percent} of {base}")),
        (None, Some(RateFrom::Tariff(layers))) if layers.len() > 1 => Some(format!(
            "the rate of the first of {} that has one, of {base}",
            quoted(layers, "and")
        )),
        (None, Some(RateFrom::Tariff(layers))) => {
            Some(format!("the rate of {} on {base}", quoted(layers, "and")))
        }
        (None, Some(RateFrom::Taxes(tax))) => Some(format!("the rate of tax `{tax}` on {base}")),
        (None, None) if base.is_empty() => None,
        (None, None) => Some(base),
    };
    let flat = c
        .flat
        .map(|flat| money(flat, c.currency) + per(c.per).as_str());
    let mut parts = vec![
        [rated, flat]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" + "),
    ];
    parts.extend(
        c.min
            .map(|least| format!("at least {}", money(least, c.currency))),
    );
    parts.extend(
        c.max
            .map(|most| format!("at most {}", money(most, c.currency))),
    );
    parts.push(level(c.level));
    parts.extend(c.round.map(|round| format!("rounded {}", rounded(round))));
    let group = |g: &crate::tables::Group| {
        format!(
            "of the group `{}` {} counts",
            g.name,
            if g.least {
                "only the least"
            } else {
                "only the first that holds"
            }
        )
    };
    parts.extend(c.group.as_ref().map(group));
    parts.join(", ")
}

/// The amount of a limit, and by which rate it is turned where that is not the rate in force.
pub(super) fn limit(r: &Relief) -> String {
    format!(
        "{} {}",
        r.amount.grouped(r.currency.currency.digits()),
        r.currency.in_words()
    )
}

pub(super) fn per(per: Per) -> String {
    match per {
        Per::Consignment => String::new(),
        Per::Item { above: 0 } => " for each item".to_owned(),
        Per::Item { above } => format!(" for each item above {above}"),
        Per::Piece => " for each piece".to_owned(),
        Per::Kilogram => " for each kilogram".to_owned(),
    }
}

pub(super) fn level(level: Level) -> String {
    match level {
        Level::Line => "line by line".to_owned(),
        Level::Item(digits) => format!("item by item (alike in {digits} digits and description)"),
        Level::Digits(digits) => format!("item by item (alike in {digits} digits)"),
        Level::Consignment => "over the parcel".to_owned(),
    }
}

pub(super) fn rounded(round: crate::units::Rounding) -> String {
    use crate::units::Mode;
    let way = match round.mode {
        Mode::HalfUp => "half up",
        Mode::HalfEven => "half to even",
        Mode::HalfDown => "half down",
        Mode::Down => "down",
        Mode::Up => "up",
        Mode::Ceiling => "upwards",
        Mode::Floor => "downwards",
    };
    format!("{way} to {}", round.step)
}

pub(super) fn relief(r: &Relief) -> String {
    let of = match r.per {
        TestPer::Consignment => "of the parcel",
        TestPer::Line => "of a line",
        TestPer::Piece => "of one piece",
    };
    let limit = format!("{} {of} {} {}", sum(&r.tests), compared(r.op), limit(r));
    let gone: Vec<String> = r.drops.iter().map(dropped).collect();
    let gone = if gone.is_empty() {
        String::new()
    } else {
        format!("not due: {}", gone.join(", "))
    };
    let taken = match r.collect {
        Some(Collect::AtSale) => "the seller takes the tax",
        Some(Collect::AtBorder) => "the tax is taken at the border",
        Some(Collect::Nowhere) => "no tax is taken",
        None => "",
    };
    let then: Vec<&str> = [gone.as_str(), taken]
        .into_iter()
        .filter(|text| !text.is_empty())
        .collect();
    format!("where {limit}, {}", then.join("; "))
}

pub(super) fn dropped(gone: &Drop) -> String {
    match gone {
        Drop::Kind(Kind::Remedy) => "anti-dumping".to_owned(),
        Drop::Kind(kind) => kind.name().to_owned(),
        Drop::Charge(id) => format!("`{id}`"),
    }
}

pub(super) fn rate(row: &TariffRow) -> String {
    rate_by(row, "kilogram")
}

/// A sum in words: `goods + 0.6 * freight` is "goods + 0.6 × freight".
pub(super) fn sum(sum: &SumExpr) -> String {
    let mut out = String::new();
    for (at, one) in sum.terms.iter().enumerate() {
        if at > 0 {
            out.push_str(if one.minus { " - " } else { " + " });
        }
        out.push_str(&term(one));
    }
    out
}

fn term(term: &Term) -> String {
    let name = name(&term.name);
    match &term.factor {
        Factor::Fraction(one, under) if *one == Dec::ONE && *under == Dec::ONE => name,
        Factor::Fraction(over, under) if *under == Dec::ONE => format!("{over} × {name}"),
        Factor::Fraction(over, under) => format!("{over}/{under} × {name}"),
        Factor::Trait(fact) => format!("the part's `{fact}` × {name}"),
    }
}

fn name(name: &str) -> String {
    match name {
        "list" => "goods before discount".to_owned(),
        "goods" | "freight" | "insurance" | "duty" | "tax" => name.to_owned(),
        "freight.border" => "freight up to the border".to_owned(),
        "freight.inland" => "freight beyond the border".to_owned(),
        "remedy" => "anti-dumping".to_owned(),
        "sale-tax" => "tax at the sale".to_owned(),
        "fee" => "fees".to_owned(),
        other => match other.strip_prefix("freight:") {
            Some(schedule) => format!("freight by the schedule `{schedule}`"),
            None => format!("`{other}`"),
        },
    }
}

/// A condition in words; nothing where it always holds.
pub(super) fn when(when: &When) -> String {
    let side = |all: &Vec<Condition>| all.iter().map(condition).collect::<Vec<_>>().join(", ");
    when.any.iter().map(side).collect::<Vec<_>>().join("; or ")
}

fn condition(condition: &Condition) -> String {
    match &condition.subject {
        Subject::Parcel(fact) => of_parcel(*fact, condition),
        Subject::Line(fact) => of_line(*fact, condition),
        Subject::Choice(name) => format!(
            "the choice `{name}` {} `{}`",
            compared(condition.op),
            condition.word
        ),
        Subject::Trait(name) => format!(
            "the part's `{name}` {} {}",
            compared(condition.op),
            value(condition)
        ),
        Subject::Sum(sum) => format!(
            "{} {} {}",
            self::sum(sum),
            compared(condition.op),
            value(condition)
        ),
    }
}

fn of_parcel(fact: ParcelFact, c: &Condition) -> String {
    let yes = (c.op == Op::Equal) == (c.word == "yes");
    match fact {
        ParcelFact::To => said(c, "delivered to", &place(&c.word)),
        ParcelFact::Dispatch => said(c, "sent from", &place(&c.word)),
        ParcelFact::Region => said(c, "in the region", &c.word),
        ParcelFact::Channel => said(c, "by", &c.word),
        ParcelFact::Sender => said(c, "the sender is", &format!("`{}`", c.word)),
        ParcelFact::Terms => said(c, "on the terms", &c.word),
        ParcelFact::Given => if yes { "a gift" } else { "not a gift" }.to_owned(),
        ParcelFact::CollectsTax => if yes {
            "the seller takes the tax"
        } else {
            "the seller takes no tax"
        }
        .to_owned(),
        ParcelFact::Ordered => format!("ordered {}", days(c)),
        ParcelFact::Arrival => format!("arriving {}", days(c)),
    }
}

fn of_line(fact: LineFact, c: &Condition) -> String {
    match fact {
        LineFact::Place => said(c, "the part is for the place", &format!("`{}`", c.word)),
        LineFact::Commodity => said(c, "the goods begin with", &c.word),
        LineFact::Origin => said(c, "made in", &place(&c.word)),
        LineFact::Preference if (c.op == Op::Equal) == (c.word == "yes") => {
            "a preference is claimed".to_owned()
        }
        LineFact::Preference => "no preference is claimed".to_owned(),
        LineFact::Assembled if (c.op == Op::Equal) == (c.word == "yes") => {
            "parts that together are another thing".to_owned()
        }
        LineFact::Assembled => "not parts that together are another thing".to_owned(),
        LineFact::Collect => match (c.op, c.word.as_str()) {
            (Op::Equal, "at-sale") => "the tax is taken at the sale".to_owned(),
            (Op::Equal, "at-border") => "the tax is taken at the border".to_owned(),
            _ => format!("where the tax is taken {} `{}`", compared(c.op), c.word),
        },
        LineFact::UnitValue => format!("one piece's value {} {}", compared(c.op), value(c)),
        LineFact::UnitMass => format!("one piece's mass {} {} g", compared(c.op), value(c)),
    }
}

/// `sent from China`, `not sent from China`.
fn said(c: &Condition, what: &str, word: &str) -> String {
    if c.op == Op::Unequal {
        format!("not {what} {word}")
    } else {
        format!("{what} {word}")
    }
}

fn days(c: &Condition) -> String {
    format!("{} {}", day_word(c.op), c.word)
}

fn value(c: &Condition) -> String {
    let figure = c
        .number
        .map_or_else(|| format!("`{}`", c.word), |n| n.to_string());
    c.currency.map_or(figure.clone(), |currency| {
        format!("{figure} {}", currency.in_words())
    })
}

/// A comparison in words.
pub(super) fn compared(op: Op) -> &'static str {
    match op {
        Op::Equal => "is",
        Op::Unequal => "is not",
        Op::Below => "is below",
        Op::AtMost => "is at most",
        Op::Above => "is above",
        Op::AtLeast => "is at least",
    }
}

/// `a, b and c`, each in backticks.
pub(super) fn quoted(names: &[String], joint: &str) -> String {
    let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    list(&names, joint)
}
