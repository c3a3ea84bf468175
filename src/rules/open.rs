//! Digits that stop above rows which differ: what could stand for them, and which of it costs the most.
//!
//! The longest prefix wins where the digits are long enough. Where they stop above rows of the tables that bear something
//! else, nobody has said which of those the goods are: the dearest counts, and what hangs on it is said. Zeros that only
//! fill digits up to a length say nothing about the goods, and digits filled up so stop where the zeros begin.

use std::collections::BTreeMap;

use super::claim::grant;
use super::form::trail::{Paid, paid};
use super::form::turning::Turning;
use super::parcel::{Line, Parcel};
use super::program::{Occasion, Program};
use super::rate::Said;
use crate::tables::{Law, RowRef};
use crate::units::{Dec, Overflow};

/// The digits of a subheading of the Harmonized System; what follows them is a country's own.
pub(super) const SUBHEADING: usize = 6;

/// Digits of a line on which money hangs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct OpenDigits {
    /// The line.
    pub(crate) at: usize,
    /// Its digits, before the dearest were taken.
    pub(crate) digits: String,
    /// The longer rows that bear something else, those of anti-dumping and countervailing duty first.
    pub(crate) rows: Vec<RowRef>,
    /// From the cheapest to the dearest, in the destination's money.
    pub(crate) hangs: Dec,
}

/// Digits that could stand for those of a line, and the longer rows that serve them.
struct Choice {
    commodity: String,
    rows: Vec<Ranked>,
}

/// A row, behind whether it is of another layer than anti-dumping and countervailing duty, which are named first.
type Ranked = (bool, RowRef);

/// What one choice comes to, and whether no rate of duty is known for the line then.
#[derive(Debug, Clone, Copy)]
struct Weighed {
    sum: Dec,
    gap: bool,
}

impl Weighed {
    /// Without the last digits of the sum, which come from the order in which figures were added up.
    fn new(sum: Dec, gap: bool) -> Weighed {
        let sum = sum.settled();
        Weighed { sum, gap }
    }
}

/// What all layers say of goods, and what rules ask of them.
type Course<'a> = (Vec<Said<'a>>, Vec<Said<'a>>, Vec<bool>);

impl Program {
    /// The digits that could stand for a line's, its own first; goods of which the tables say the same are one choice.
    fn choices(&self, line: &Line) -> Vec<Choice> {
        let digits = line.commodity.as_str();
        if digits.is_empty() {
            return Vec::new();
        }
        let mut names: Vec<&str> = self.beyond(digits).collect();
        let remedies: Vec<&str> = self.remedy_layers().collect();
        names.sort_unstable();
        names.dedup();
        if names.is_empty() {
            return Vec::new();
        }
        let named = |name: &str| Line {
            commodity: name.to_owned(),
            ..line.clone()
        };
        let all = std::iter::once(digits).chain(names);
        let lines: Vec<(&str, Line)> = all.map(|name| (name, named(name))).collect();
        let mut known: Vec<(Course<'_>, Choice)> = Vec::new();
        for (name, line) in &lines {
            let (tariff, rows) = self.tariff.said(line, &self.groups, digits.len());
            let (taxes, more) = self.taxes.said(line, &self.groups, digits.len());
            let taxed = more.into_iter().map(|(_, row)| (true, row.clone()));
            let rows = rows
                .into_iter()
                .map(|(layer, row)| (!remedies.contains(&layer), row.clone()))
                .chain(taxed);
            let course = (
                tariff,
                taxes,
                self.asked
                    .iter()
                    .map(|word| name.starts_with(word.as_str()))
                    .collect(),
            );
            match known.iter_mut().find(|(other, _)| *other == course) {
                Some((_, choice)) => choice.rows.extend(rows),
                None => known.push((
                    course,
                    Choice {
                        commodity: (*name).to_owned(),
                        rows: rows.collect(),
                    },
                )),
            }
        }
        known.into_iter().map(|(_, choice)| choice).collect()
    }

    /// Digits without the zeros that only fill them up to a length, by the rows of the program.
    pub(super) fn unpadded<'d>(&self, digits: &'d str) -> &'d str {
        let lies_above = |cut: &str| self.beyond(cut).next().is_some();
        unpadded(digits, lies_above, |cut| self.names_exactly(cut))
    }

    /// The longer digits that rows of the tables have, or that their conditions name.
    fn beyond<'d>(&'d self, digits: &'d str) -> impl Iterator<Item = &'d str> {
        let asked = self.asked.iter().map(String::as_str);
        let asked = asked.filter(move |word| word.len() > digits.len() && word.starts_with(digits));
        let rows = self.tariff.beyond(digits).chain(self.taxes.beyond(digits));
        rows.chain(asked)
    }

    /// Whether a row of rates, or a condition of one, has exactly these digits.
    pub(super) fn names_exactly(&self, digits: &str) -> bool {
        self.tariff.names(digits) || self.taxes.names(digits) || self.asked.contains(digits)
    }
}

/// The rows beyond digits which say something else of goods from an origin, those of anti-dumping and countervailing duty first.
pub(crate) fn rows_beyond(
    law: &Law,
    at: &Occasion<'_>,
    groups: BTreeMap<String, String>,
    (digits, origin): (&str, &str),
) -> Result<Vec<RowRef>, Overflow> {
    let shortest = cuts(digits).last().unwrap_or(digits);
    let program = Program::of_digits(law, at, groups, shortest)?;
    let line = Line {
        commodity: program.unpadded(digits).to_owned(),
        origin: origin.to_owned(),
        ..Line::default()
    };
    let others = program.choices(&line).into_iter().skip(1);
    Ok(sorted(others.flat_map(|choice| choice.rows).collect()))
}

/// Settles the digits of the open lines that stop above rows which differ: each line bears the dearest.
pub(crate) fn settle_digits(
    program: &Program,
    parcel: &mut Parcel,
    open: &[bool],
) -> Result<Vec<OpenDigits>, Overflow> {
    let (of_goods, asked) = asked(program, parcel, open);
    if asked.iter().all(Option::is_none) {
        return Ok(Vec::new());
    }
    let choices: Vec<&[Choice]> = asked
        .iter()
        .map(|goods| goods.map_or(&[][..], |goods| of_goods[goods].as_slice()))
        .collect();
    let weighing = Weighing::of(program, parcel, &choices)?;
    settle(program, parcel, &choices, weighing)
}

/// Whether the digits of any open line stop above rows that differ.
pub(crate) fn has_open_digits(program: &Program, parcel: &Parcel, open: &[bool]) -> bool {
    asked(program, parcel, open).1.iter().any(Option::is_some)
}

/// Settles lines one after another, each with its choices.
fn settle(
    program: &Program,
    parcel: &mut Parcel,
    choices: &[&[Choice]],
    mut weighing: Weighing,
) -> Result<Vec<OpenDigits>, Overflow> {
    let mut found = Vec::new();
    for (at, choices) in choices
        .iter()
        .enumerate()
        .filter(|(_, own)| !own.is_empty())
    {
        let digits = parcel.lines[at].commodity.clone();
        let mut weighed = Vec::with_capacity(choices.len());
        for (nth, choice) in choices.iter().enumerate() {
            weighed.push(weighing.weigh(program, parcel, (at, nth), &choice.commodity)?);
        }
        let dearest = dearest(&weighed);
        weighing.settle(at, dearest)?;
        choices[dearest]
            .commodity
            .clone_into(&mut parcel.lines[at].commodity);
        found.extend(what_hangs(at, digits, choices, &weighed)?);
    }
    Ok(found)
}

/// Choices of goods, and for each line which of them are its own; none where it has no choice. The tables give the same answer for
/// the same digits and origin, whatever the line.
fn asked(
    program: &Program,
    parcel: &Parcel,
    open: &[bool],
) -> (Vec<Vec<Choice>>, Vec<Option<usize>>) {
    let mut known: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let (mut of_goods, mut asked) = (Vec::new(), Vec::with_capacity(parcel.lines.len()));
    for (at, line) in parcel.lines.iter().enumerate() {
        if open.get(at) != Some(&true) {
            asked.push(None);
            continue;
        }
        let goods = (line.commodity.as_str(), line.origin.as_str());
        let which = *known.entry(goods).or_insert_with(|| {
            of_goods.push(program.choices(line));
            of_goods.len() - 1
        });
        asked.push(Some(which).filter(|which| of_goods[*which].len() > 1));
    }
    (of_goods, asked)
}

/// What hangs on the digits of a line, where its choices come to different sums.
fn what_hangs(
    at: usize,
    digits: String,
    choices: &[Choice],
    weighed: &[Weighed],
) -> Result<Option<OpenDigits>, Overflow> {
    let Some((least, most)) = range(weighed).filter(|(least, most)| least != most) else {
        return Ok(None);
    };
    let usual = weighed
        .first()
        .filter(|own| !own.gap)
        .map_or(least, |own| own.sum);
    let others = choices
        .iter()
        .zip(weighed)
        .filter(|(_, weighed)| weighed.sum != usual);
    let rows = others.flat_map(|(choice, _)| choice.rows.clone()).collect();
    Ok(Some(OpenDigits {
        at,
        digits,
        rows: sorted(rows),
        hangs: most.minus(least)?,
    }))
}

/// How choices are weighed: by turning the lines of one form, or by a form of the parcel for each of them.
enum Weighing {
    Turning(Box<Turning>),
    /// With what the parcel comes to as its lines stand, and of the line in hand what each choice does.
    Anew(Option<Paid>, Vec<Paid>),
}

impl Weighing {
    fn of(program: &Program, parcel: &Parcel, choices: &[&[Choice]]) -> Result<Weighing, Overflow> {
        // one line alone has a smaller form than one that is one of several
        if parcel.lines.len() > 1 {
            let lines = lines_of(program, parcel, choices)?;
            if let Some(turning) = Turning::open(program, parcel, lines)? {
                return Ok(Weighing::Turning(Box::new(turning)));
            }
        }
        Ok(Weighing::Anew(None, Vec::new()))
    }

    /// What the parcel comes to with one choice of a line; the line's own digits stand first.
    fn weigh(
        &mut self,
        program: &Program,
        parcel: &mut Parcel,
        (at, nth): (usize, usize),
        commodity: &str,
    ) -> Result<Weighed, Overflow> {
        match self {
            Weighing::Turning(turning) => {
                turning.turn(at, nth)?;
                Ok(Weighed::new(turning.sum()?, turning.gap(at)))
            }
            Weighing::Anew(standing, paid) => {
                let now = match standing.take().filter(|_| nth == 0) {
                    Some(known) => known,
                    None => weigh(program, parcel, at, commodity)?,
                };
                let weighed = Weighed::new(now.sum, now.gaps.contains(&at));
                paid.push(now);
                Ok(weighed)
            }
        }
    }

    /// From now on a choice of a line stands: the dearest of one line is where the next begins.
    fn settle(&mut self, at: usize, nth: usize) -> Result<(), Overflow> {
        match self {
            Weighing::Turning(turning) => turning.turn(at, nth)?,
            Weighing::Anew(standing, paid) => {
                *standing = Some(paid.swap_remove(nth));
                paid.clear();
            }
        }
        Ok(())
    }
}

/// All that each line could be, without the claims of a preference that no row grants. Whether one does hangs on the goods of the
/// line and on figures that no digits change, so that the n-th choices of all lines are looked at together.
fn lines_of(
    program: &Program,
    parcel: &Parcel,
    choices: &[&[Choice]],
) -> Result<Vec<Vec<Line>>, Overflow> {
    let mut found: Vec<Vec<Line>> = vec![Vec::new(); parcel.lines.len()];
    let most = choices.iter().map(|own| own.len()).max().unwrap_or(0);
    let mut turned = parcel.clone();
    for nth in 0..most.max(1) {
        for (at, line) in turned.lines.iter_mut().enumerate() {
            line.preference = parcel.lines[at].preference;
            if let Some(choice) = choices[at].get(nth) {
                choice.commodity.clone_into(&mut line.commodity);
            }
        }
        grant(program, &mut turned)?;
        for (at, line) in turned.lines.iter().enumerate() {
            if nth < choices[at].len().max(1) {
                found[at].push(line.clone());
            }
        }
    }
    Ok(found)
}

/// What the parcel comes to with other digits of a line; the parcel is afterwards as it was.
fn weigh(
    program: &Program,
    parcel: &mut Parcel,
    at: usize,
    commodity: &str,
) -> Result<Paid, Overflow> {
    let own = std::mem::replace(&mut parcel.lines[at].commodity, commodity.to_owned());
    let ungranted = grant(program, parcel)?;
    let found = paid(program, parcel)?;
    for line in ungranted {
        parcel.lines[line].preference = true;
    }
    parcel.lines[at].commodity = own;
    Ok(found)
}

/// The dearest, of equals one that is known whole, of those the first.
fn dearest(weighed: &[Weighed]) -> usize {
    let rank = |at: usize| weighed.get(at).map(|w| (w.sum, !w.gap));
    (0..weighed.len()).fold(0, |best, at| if rank(at) > rank(best) { at } else { best })
}

/// The cheapest and the dearest of those that are known whole, or of all where none is.
fn range(weighed: &[Weighed]) -> Option<(Dec, Dec)> {
    let all_open = weighed.iter().all(|w| w.gap);
    let sums = || weighed.iter().filter(|w| all_open || !w.gap).map(|w| w.sum);
    sums().min().zip(sums().max())
}

fn sorted(mut rows: Vec<Ranked>) -> Vec<RowRef> {
    rows.sort();
    rows.dedup();
    rows.into_iter().map(|(_, row)| row).collect()
}

/// Digits without the zeros that only fill them up to a length: where nothing names the digits or any below them, and rows lie below
/// them without a pair of zeros at their end, they stop there.
pub(super) fn unpadded(
    digits: &str,
    lies_above: impl Fn(&str) -> bool,
    is_named: impl Fn(&str) -> bool,
) -> &str {
    for cut in std::iter::once(digits).chain(cuts(digits)) {
        if lies_above(cut) {
            return cut;
        }
        if is_named(cut) {
            break;
        }
    }
    digits
}

/// What is left of digits when zeros at their end are taken off, longest first, in the lengths that headings have: six digits,
/// eight, ten.
pub(super) fn cuts(digits: &str) -> impl Iterator<Item = &str> {
    let kept = digits.trim_end_matches('0').len();
    let lengths = (kept.max(SUBHEADING)..digits.len())
        .rev()
        .filter(|length| length % 2 == 0);
    lengths.filter_map(move |length| digits.get(..length))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Channel, Sender};
    use crate::rules::{Occasion, RowFilter};
    use crate::tables::Tables;
    use crate::text::Problems;
    use crate::units::{Country, Currency, Date, Grams, Percent, Rate, SellerMoney};

    const DAY: &str = "2026-09-23";

    fn program(to: &str, region: &str) -> (Program, Currency) {
        let mut problems = Problems::new();
        let tables = Tables::load(Vec::new(), &mut problems);
        let (to, day) = (Country::parse(to).unwrap(), Date::parse(DAY).unwrap());
        let destination = &tables.destination(to, day).unwrap().rule;
        let law = tables.law(destination, &mut problems);
        let at = Occasion {
            to: to.code(),
            group: &destination.group,
            region,
            currency: destination.currency,
            ordered: day,
            arrival: day,
            counting: RowFilter::ALL,
        };
        let own = Program::prepare(&law, &at, &BTreeMap::new(), BTreeMap::new()).unwrap();
        (own, destination.currency)
    }

    /// Lines whose figures are drawn by a plain rule from a seed.
    fn lines(mut seed: u64, count: usize) -> Vec<Line> {
        const DIGITS: [&str; 8] = [
            "871491", "871493", "871494", "871496", "871499", "8714", "401150", "73151190",
        ];
        let mut draw = |below: u64| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 33) % below
        };
        let drawn = |_| {
            let goods = Dec::new(i64::try_from(draw(90_000)).unwrap(), 2);
            Line {
                commodity: DIGITS[usize::try_from(draw(8)).unwrap()].to_owned(),
                origin: ["CN", "TW", "JP", "VN", "GB"][usize::try_from(draw(5)).unwrap()]
                    .to_owned(),
                preference: draw(3) == 0,
                pieces: u32::try_from(draw(3)).unwrap() + 1,
                packed: Grams(Dec::from(u32::try_from(draw(5_000)).unwrap())),
                list: SellerMoney::of(goods),
                goods: SellerMoney::of(goods),
                freight: SellerMoney::of(Dec::new(i64::try_from(draw(2_000)).unwrap(), 2)),
                ..Line::default()
            }
        };
        (0..count).map(drawn).collect()
    }

    fn parcel((to, region): (&str, &str), paid_in: Currency, lines: Vec<Line>) -> Parcel {
        Parcel {
            to: Country::parse(to).unwrap(),
            region: region.to_owned(),
            paid_in,
            ordered: Date::parse(DAY).unwrap(),
            arrival: Date::parse(DAY).unwrap(),
            lines,
            dispatch: Country::parse("CN").unwrap(),
            channel: Channel::Courier,
            sender: Sender::Business,
            collects_tax: false,
            terms: String::new(),
            choices: BTreeMap::new(),
            customs: Rate::SAME,
            border_freight: Percent(Dec::HUNDRED),
            handling: None,
            schedules: BTreeMap::new(),
        }
    }

    /// Settles the open lines by turning and by new forms, which must come to the same, and says on how many money hangs.
    fn settled_both_ways(program: &Program, parcel: Parcel, open: &[bool], what: &str) -> usize {
        let (mut turned, mut anew) = (parcel.clone(), parcel);
        let one = settle_digits(program, &mut turned, open).unwrap();
        let (of_goods, asked) = asked(program, &anew, open);
        let choices: Vec<&[Choice]> = asked
            .iter()
            .map(|goods| goods.map_or(&[][..], |goods| of_goods[goods].as_slice()))
            .collect();
        let weighing = Weighing::of(program, &anew, &choices).unwrap();
        assert!(matches!(weighing, Weighing::Turning(_)));
        let new = Weighing::Anew(None, Vec::new());
        let other = settle(program, &mut anew, &choices, new).unwrap();
        assert_eq!(one, other, "{what}");
        let digits = |parcel: &Parcel| -> Vec<String> {
            let lines = parcel.lines.iter();
            lines.map(|line| line.commodity.clone()).collect()
        };
        assert_eq!(digits(&turned), digits(&anew), "{what}");
        one.len()
    }

    #[test]
    fn a_turned_line_costs_what_a_new_form_says() {
        let mut settled = 0;
        for (to, region) in [
            ("GB", ""),
            ("DE", ""),
            ("FR", ""),
            ("US", "NY"),
            ("CH", ""),
            ("KR", ""),
            ("JP", ""),
        ] {
            let (program, paid_in) = program(to, region);
            for seed in 0..12 {
                let lines = lines(seed, 2 + usize::try_from(seed).unwrap());
                let open = vec![true; lines.len()];
                let parcel = parcel((to, region), paid_in, lines);
                settled += settled_both_ways(&program, parcel, &open, &format!("{to} {seed}"));
            }
        }
        assert!(settled > 40, "{settled}");
    }

    /// Of three hundred lines some are open, near and far, so that totals are adjusted many times over.
    #[test]
    fn so_does_one_of_three_hundred() {
        let mut settled = 0;
        for (to, region) in [("GB", ""), ("DE", ""), ("US", "NY")] {
            let (program, paid_in) = program(to, region);
            let mut parcel = parcel((to, region), paid_in, lines(7, 300));
            // figures that do not end after a few digits
            parcel.customs = Rate::new(Dec::ONE, Dec::new(13_457, 4)).unwrap();
            parcel.border_freight = Percent(Dec::from(60_u32));
            let open: Vec<bool> = (0..300).map(|at| at % 30 < 2).collect();
            settled += settled_both_ways(&program, parcel, &open, to);
        }
        assert!(settled > 5, "{settled}");
    }
}
