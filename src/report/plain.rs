//! The two small languages of the tables in plain words: sums, and conditions.

use crate::tables::{Condition, Factor, LineFact, Op, ParcelFact, Subject, SumExpr, Term, When};
use crate::text::words::list;
use crate::units::{Country, Dec};

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

/// How a day is compared, in a word.
pub(super) fn day_word(op: Op) -> &'static str {
    match op {
        Op::Equal => "on",
        Op::Unequal => "not on",
        Op::Below => "before",
        Op::AtMost => "up to",
        Op::Above => "after",
        Op::AtLeast => "from",
    }
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

/// A country or a group of countries by name.
pub(super) fn place(code: &str) -> String {
    match code {
        "EU" => "the European Union".to_owned(),
        "*" => "anywhere".to_owned(),
        code => Country::parse(code).map_or_else(|| code.to_owned(), Country::in_words),
    }
}

/// `a, b and c`, each in backticks.
pub(super) fn quoted(names: &[String], joint: &str) -> String {
    let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    list(&names, joint)
}
