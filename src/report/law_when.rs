//! When a row of law holds, in a buyer's words: conditions that say the same are said once, and what is known of the destination
//! is left out.

use super::plain;
use crate::tables::law_names as names;
use crate::tables::{
    Coin, Condition, Factor, LineFact, Op, ParcelFact, Subject, SumExpr, Term, When,
};
use crate::text::words::list;
use crate::units::Dec;

/// Alternatives, each a list of conditions. An empty list always holds; no list at all never does.
pub(super) type Sides = Vec<Vec<Condition>>;

/// The alternatives of a row at a destination and a day, without what is known there: the buyer is
/// private.
pub(super) fn sides(when: &When, to: &str, group: &str, day: &str) -> Sides {
    let all = if when.is_always() {
        vec![Vec::new()]
    } else {
        when.any.clone()
    };
    let known = |c: &Condition| match (&c.subject, c.op) {
        (Subject::Parcel(ParcelFact::To), Op::Equal) => Some(c.word == to || c.word == group),
        (Subject::Parcel(ParcelFact::To), Op::Unequal) => Some(c.word != to && c.word != group),
        (Subject::Choice(name), op) if name == "importer" => {
            Some((op == Op::Equal) != (c.word == "business"))
        }
        (Subject::Parcel(ParcelFact::Arrival | ParcelFact::Ordered), op) => {
            Some(op.holds(day, c.word.as_str()))
        }
        _ => None,
    };
    let here = all
        .into_iter()
        .filter(|side| side.iter().all(|c| known(c) != Some(false)));
    simpler(
        here.map(|side| side.into_iter().filter(|c| known(c).is_none()).collect())
            .collect(),
    )
}

/// The same said shorter: two alternatives that differ only in yes and no are one, one that asks for more than another goes, and
/// `a, or not a and b` is `a, or b`.
pub(super) fn simpler(mut all: Sides) -> Sides {
    loop {
        if let Some((one, other, without)) = pair(&all, joined) {
            replace(&mut all, one, other, without);
        } else if let Some((at, less)) = eased(&all) {
            all.iter_mut()
                .skip(at)
                .take(1)
                .for_each(|side| side.clone_from(&less));
        } else {
            return all;
        }
    }
}

fn replace(all: &mut Sides, one: usize, other: usize, by: Vec<Condition>) {
    all.remove(other);
    all.iter_mut()
        .skip(one)
        .take(1)
        .for_each(|side| side.clone_from(&by));
}

/// An alternative with a condition too many, since another one holds where that does not.
fn eased(all: &Sides) -> Option<(usize, Vec<Condition>)> {
    all.iter().enumerate().find_map(|(at, side)| {
        let idle = |c: &Condition| {
            all.iter().any(|other| {
                other.iter().any(|o| opposite(c, o))
                    && other.iter().all(|o| opposite(c, o) || side.contains(o))
            })
        };
        let gone = side.iter().position(idle)?;
        Some((
            at,
            side.iter()
                .enumerate()
                .filter(|(i, _)| *i != gone)
                .map(|(_, c)| c.clone())
                .collect(),
        ))
    })
}

/// Two alternatives that are one, and that one.
fn pair(
    all: &Sides,
    join: impl Fn(&[Condition], &[Condition]) -> Option<Vec<Condition>>,
) -> Option<(usize, usize, Vec<Condition>)> {
    all.iter().enumerate().find_map(|(one, mine)| {
        let mut later = all.iter().enumerate().skip(one + 1);
        later.find_map(|(other, theirs)| Some((one, other, join(mine, theirs)?)))
    })
}

/// Two alternatives that differ in one word of the same thing, as one with both words.
fn with_both_words(one: &[Condition], other: &[Condition]) -> Option<Vec<Condition>> {
    let differing: Vec<usize> = one
        .iter()
        .zip(other)
        .enumerate()
        .filter(|(_, (a, b))| a != b)
        .map(|(at, _)| at)
        .collect();
    let [at] = differing.as_slice() else {
        return None;
    };
    let (mine, theirs) = (one.get(*at)?, other.get(*at)?);
    let alike = one.len() == other.len()
        && mine.subject == theirs.subject
        && mine.op == Op::Equal
        && theirs.op == Op::Equal;
    let mut both = one.to_vec();
    both.get_mut(*at)?.word = format!("{}|{}", mine.word, theirs.word);
    alike.then_some(both)
}

fn joined(one: &[Condition], other: &[Condition]) -> Option<Vec<Condition>> {
    let less = |a: &[Condition], b: &[Condition]| -> Vec<Condition> {
        a.iter().filter(|c| !b.contains(c)).cloned().collect()
    };
    let (mine, theirs) = (less(one, other), less(other, one));
    match (mine.as_slice(), theirs.as_slice()) {
        ([], _) => Some(one.to_vec()),
        (_, []) => Some(other.to_vec()),
        ([a], [b]) if opposite(a, b) => Some(one.iter().filter(|c| *c != a).cloned().collect()),
        _ => None,
    }
}

/// Whether one of the two always holds, and never both.
fn opposite(a: &Condition, b: &Condition) -> bool {
    let yes_and_no = matches!(
        a.subject,
        Subject::Parcel(ParcelFact::Given | ParcelFact::CollectsTax)
            | Subject::Line(LineFact::Preference | LineFact::Assembled)
    );
    let turned = |op: Op| match op {
        Op::Equal => Op::Unequal,
        Op::Unequal => Op::Equal,
        Op::Below => Op::AtLeast,
        Op::AtMost => Op::Above,
        Op::Above => Op::AtMost,
        Op::AtLeast => Op::Below,
    };
    let same = a.word == b.word && a.currency == b.currency;
    a.subject == b.subject
        && ((same && turned(a.op) == b.op) || (yes_and_no && a.op == b.op && a.word != b.word))
}

/// What all alternatives ask for, taken out of them.
pub(super) fn common(all: &mut Sides) -> Vec<Condition> {
    let Some((first, rest)) = all.split_first() else {
        return Vec::new();
    };
    let shared: Vec<Condition> = first
        .iter()
        .filter(|c| rest.iter().all(|side| side.contains(c)))
        .cloned()
        .collect();
    all.iter_mut()
        .for_each(|side| side.retain(|c| !shared.contains(c)));
    shared
}

/// Alternatives in words: `by courier, sent from the United States or Canada`; nothing where they always hold.
pub(super) fn words(all: &Sides) -> String {
    let mut rest = all.clone();
    while let Some((one, other, both)) = pair(&rest, with_both_words) {
        replace(&mut rest, one, other, both);
    }
    let shared = common(&mut rest);
    let mut told = phrases(&shared);
    if rest.iter().all(|side| !side.is_empty()) && !rest.is_empty() {
        let sides: Vec<String> = rest
            .iter()
            .map(|side| phrases(side).join(" and "))
            .collect();
        told.push(sides.join(if rest.iter().any(|side| side.len() > 1) {
            ", or "
        } else {
            " or "
        }));
    }
    told.join(", ")
}

/// The conditions of one side, in a fixed order of kinds, those of one subject together.
fn phrases(side: &[Condition]) -> Vec<String> {
    let is = |c: &Condition, fact: ParcelFact, op: Op, word: &str| {
        c.subject == Subject::Parcel(fact) && c.op == op && c.word == word
    };
    let bought = |c: &Condition| is(c, ParcelFact::Given, Op::Equal, "no");
    let trader = |c: &Condition| is(c, ParcelFact::Sender, Op::Unequal, "private");
    let both = side.iter().any(bought) && side.iter().any(trader);
    let mut found: Vec<String> = if both {
        vec!["from a trader".to_owned()]
    } else {
        Vec::new()
    };
    let mut left: Vec<&Condition> = side
        .iter()
        .filter(|c| !(both && (bought(c) || trader(c))))
        .collect();
    while let Some(first) = left.first().copied() {
        let (same, rest): (Vec<&Condition>, Vec<&Condition>) = left
            .into_iter()
            .partition(|c| c.subject == first.subject && goes_with(first, c));
        found.push(phrase(&same));
        left = rest;
    }
    found.retain(|text| !text.is_empty());
    found
}

/// Whether two conditions on one subject are said together: all that are not, or the two ends of a range.
fn goes_with(first: &Condition, other: &Condition) -> bool {
    first == other
        || (first.op == Op::Unequal && other.op == Op::Unequal)
        || (first.number.is_some() && first.op != Op::Equal && other.op != Op::Equal)
}

fn phrase(group: &[&Condition]) -> String {
    let Some(first) = group.first() else {
        return String::new();
    };
    match &first.subject {
        Subject::Sum(sum) => compared(sum, group),
        Subject::Line(LineFact::UnitValue) => range("the price of one piece", group),
        Subject::Line(LineFact::UnitMass) => range("the grams of one piece", group),
        // what is not marked by the user is as it is
        Subject::Trait(_) if first.op == Op::Unequal => String::new(),
        Subject::Trait(_) if first.op == Op::Above && first.number.is_some_and(Dec::is_zero) => {
            String::new()
        }
        Subject::Trait(name) if first.number.is_some() => range(&names::spaced(name), group),
        _ => one_of(first, &group.iter().map(|c| word(c)).collect::<Vec<_>>()),
    }
}

/// `sent from China or Taiwan`, `not sent from China or Taiwan`.
fn one_of(first: &Condition, words: &[String]) -> String {
    let all = list(words, "or");
    let not = if first.op == Op::Unequal { "not " } else { "" };
    match &first.subject {
        Subject::Parcel(fact) => of_parcel(*fact, first, &all, not),
        Subject::Line(fact) => of_line(*fact, first, &all, not),
        _ => format!("{not}{all}"),
    }
}

fn yes(c: &Condition) -> bool {
    (c.op == Op::Equal) == (c.word == "yes")
}

fn of_parcel(fact: ParcelFact, c: &Condition, all: &str, not: &str) -> String {
    match fact {
        ParcelFact::To => format!("{not}delivered to {all}"),
        ParcelFact::Dispatch => format!("{not}sent from {all}"),
        ParcelFact::Region => format!("{not}in {all}"),
        ParcelFact::Channel => format!("{not}by {all}"),
        ParcelFact::Sender if c.word == "private" => if c.op == Op::Equal {
            "from a private person"
        } else {
            "from a trader"
        }
        .to_owned(),
        ParcelFact::Sender => format!("{not}from a sender who is {all}"),
        ParcelFact::Terms => format!("{not}on the terms {all}"),
        ParcelFact::Given => if yes(c) { "as a gift" } else { "not as a gift" }.to_owned(),
        ParcelFact::CollectsTax => if yes(c) {
            "where the seller takes the tax"
        } else {
            "where the seller takes no tax"
        }
        .to_owned(),
        ParcelFact::Ordered => format!("ordered {} {}", plain::day_word(c.op), c.word),
        ParcelFact::Arrival => format!("arriving {} {}", plain::day_word(c.op), c.word),
    }
}

fn of_line(fact: LineFact, c: &Condition, all: &str, not: &str) -> String {
    match fact {
        LineFact::Place => format!("{not}for the place {all}"),
        LineFact::Commodity if c.op == Op::Unequal => format!("other than {all}"),
        LineFact::Commodity => all.to_owned(),
        LineFact::Origin => format!("{not}made in {all}"),
        LineFact::Preference => if yes(c) {
            "with a proof of origin"
        } else {
            "without a proof of origin"
        }
        .to_owned(),
        LineFact::Assembled => if yes(c) {
            "of parts that together are another thing"
        } else {
            "of goods that stand alone"
        }
        .to_owned(),
        LineFact::Collect if c.word == "at-sale" => {
            format!("where the tax is {not}taken at the checkout")
        }
        LineFact::Collect => format!("where the tax is {not}taken at the border"),
        LineFact::UnitValue | LineFact::UnitMass => format!("{not}{all}"),
    }
}

/// What a condition compares with, in words.
fn word(c: &Condition) -> String {
    let one = |word: &str| match &c.subject {
        Subject::Parcel(ParcelFact::To | ParcelFact::Dispatch)
        | Subject::Line(LineFact::Origin) => plain::place(word),
        Subject::Line(LineFact::Commodity) => names::goods(word),
        Subject::Choice(name) => names::choice(name, word),
        Subject::Trait(name) => names::trait_of(name, word),
        _ => names::spaced(word),
    };
    list(&c.word.split('|').map(one).collect::<Vec<_>>(), "or")
}

/// `up to 150 EUR of goods`, `where tax is due`.
fn compared(sum: &SumExpr, group: &[&Condition]) -> String {
    let zero = |c: &&Condition| c.number.is_some_and(Dec::is_zero);
    match group {
        [one] if zero(one) && matches!(one.op, Op::Above | Op::Unequal) && is_a_value(sum) => {
            "on some goods".to_owned()
        }
        [one] if zero(one) && matches!(one.op, Op::Above | Op::Unequal) => {
            format!("where {} due", is_or_are(sum))
        }
        [one] if zero(one) && matches!(one.op, Op::Equal | Op::AtMost) => {
            format!("where no {} is due", all_of(sum, "or"))
        }
        _ => range(&all_of(sum, "and"), group),
    }
}

/// Whether a sum is one value that rows make, which nobody pays.
fn is_a_value(sum: &SumExpr) -> bool {
    matches!(sum.terms.as_slice(), [term] if term.name.ends_with("_value"))
}

fn is_or_are(sum: &SumExpr) -> String {
    match sum.terms.as_slice() {
        [_, _, ..] => "something is".to_owned(),
        _ if sum.names().any(|name| name == "something_due") => "something is".to_owned(),
        _ => format!("{} is", all_of(sum, "and")),
    }
}

fn range(what: &str, group: &[&Condition]) -> String {
    let mut group = group.to_vec();
    group.sort_by_key(|c| c.number);
    let ends: Vec<String> = group
        .iter()
        .map(|c| format!("{} {}", bound(c.op), figure(c)))
        .collect();
    format!("{} of {what}", ends.join(" and "))
}

/// The beginning of a bound: `up to`.
pub(super) fn bound(op: Op) -> &'static str {
    match op {
        Op::AtMost => "up to",
        Op::Below => "below",
        Op::AtLeast => "from",
        Op::Above => "above",
        Op::Equal => "exactly",
        Op::Unequal => "other than",
    }
}

fn figure(c: &Condition) -> String {
    c.number.map_or_else(
        || names::spaced(&c.word),
        |number| money(number, c.currency),
    )
}

/// An amount without pennies where it has none. By which rate it is turned stands in the whole list.
pub(super) fn money(amount: Dec, coin: Option<Coin>) -> String {
    let Some(coin) = coin else {
        return amount.to_string();
    };
    let long = amount.grouped(coin.currency.digits());
    let short = long.strip_suffix(".00").unwrap_or(&long);
    format!("{short} {}", coin.currency)
}

/// A sum in words: `goods, freight and 0.6 × insurance`.
pub(super) fn all_of(sum: &SumExpr, joint: &str) -> String {
    list(&sum.terms.iter().map(term).collect::<Vec<_>>(), joint)
}

fn term(term: &Term) -> String {
    let name = names::sum(&term.name);
    let name = if term.minus {
        format!("less {name}")
    } else {
        name
    };
    match &term.factor {
        Factor::Fraction(one, under) if one == under => name,
        Factor::Fraction(over, under) if *under == Dec::ONE => format!("{over} × {name}"),
        Factor::Fraction(over, under) => format!("{over}/{under} of {name}"),
        Factor::Trait(fact) => format!("your {} × {name}", names::spaced(fact)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What rows with these conditions, taken together, say at a place.
    fn said(whens: &[&str]) -> String {
        let all = whens
            .iter()
            .flat_map(|when| sides(&When::parse(when).unwrap(), "NL", "EU", "2026-11-25"))
            .collect();
        words(&simpler(all))
    }

    #[test]
    fn what_says_the_same_is_said_once() {
        for (whens, words) in [
            (vec!["given = no", "given = yes"], ""),
            (vec!["given = no & sender != private"], "from a trader"),
            (
                vec!["to = NL & channel = post", "to != NL & channel = courier"],
                "by post",
            ),
            (vec!["to = EU"], ""),
            (
                vec!["collects_tax = no & preference = no | collects_tax = yes"],
                "without a proof of origin or where the seller takes the tax",
            ),
            (
                vec!["channel = post & goods > 117 USD & goods <= 2500 USD"],
                "by post, above 117 USD and up to 2,500 USD of goods",
            ),
            (
                vec!["channel = courier & dispatch = US | channel = courier & dispatch = CA"],
                "by courier, sent from the United States or Canada",
            ),
            (
                vec!["origin != US & origin != MX"],
                "not made in the United States or Mexico",
            ),
            (
                vec!["duty + tax > 0", "duty + tax > 0 & given = yes"],
                "where something is due",
            ),
            (
                vec!["choice.importer = business | channel = post"],
                "by post",
            ),
            (
                vec![
                    "arrival >= 2026-01-01 & channel = post | arrival < 2026-01-01 & channel = courier",
                ],
                "by post",
            ),
        ] {
            assert_eq!(said(&whens), words, "{whens:?}");
        }
    }

    /// A choice that nobody has given words reads without the signs of the tables.
    #[test]
    fn a_name_without_words_reads_with_blanks() {
        assert_eq!(
            said(&["choice.odd_form = green_paper & trait.odd_part = yes"]),
            "with green paper as odd form, with yes as odd part"
        );
        assert_eq!(said(&["my_levy > 0"]), "where my levy is due");
    }
}
