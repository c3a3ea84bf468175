//! Taxes told whole: the rates, and what they are taken on; rates of a layer of the tariff as one range.

use super::law_here::Here;
use super::law_when::all_of;
use super::plain;
use crate::tables::law_names as names;
use crate::tables::{Charge, Dated, Factor, Kind, Op, RateFrom, Subject, TaxRow, Term};
use crate::tables::{Condition, LineFact, ParcelFact};
use crate::text::words::{count, list};
use crate::units::{Dec, Percent};

/// How deep sums name sums.
const DEEPEST: usize = 8;

/// What taxes are taken on.
pub(super) struct Bases;

impl Bases {
    /// Whether any row of anti-dumping or countervailing duty can hold here.
    pub(super) fn has_remedy(here: Here<'_, '_>) -> bool {
        here.rows(&here.jurisdiction.law.charges)
            .any(|row| row.rule.kind == Kind::Remedy && here.jurisdiction.can_hold(&row.rule.when))
    }
}

/// The taxes whose rates stand in `taxes.csv`.
pub(super) fn taxes(here: Here<'_, '_>) -> Vec<String> {
    let mut found: Vec<(&str, Vec<&Charge>)> = Vec::new();
    for row in here
        .rows(&here.jurisdiction.law.charges)
        .filter(|row| matches!(row.rule.kind, Kind::Tax | Kind::SaleTax))
    {
        let told_here = ordinary(&row.rule, here) && !on_kits(&row.rule);
        let (Some(RateFrom::Taxes(tax)), true) = (&row.rule.rate_from, told_here) else {
            continue;
        };
        match found.iter_mut().find(|(name, _)| name == tax) {
            Some((_, all)) => all.push(&row.rule),
            None => found.push((tax, vec![&row.rule])),
        }
    }
    found
        .into_iter()
        .filter_map(|(tax, charges)| one_tax(tax, &charges, here))
        .collect()
}

/// `VAT 20 % (0 % on helmets) of goods, freight and duty`.
fn one_tax(tax: &str, charges: &[&Charge], here: Here<'_, '_>) -> Option<String> {
    let rows: Vec<&Dated<TaxRow>> = here
        .rows(&here.jurisdiction.law.taxes)
        .filter(|row| row.rule.tax == tax && row.rule.country == here.ask.to.code())
        .collect();
    let standard = rate_here(&rows, "*", here);
    let mut regions: Vec<&str> = rows
        .iter()
        .map(|row| row.rule.region.as_str())
        .filter(|region| !region.is_empty())
        .collect();
    regions.sort_unstable();
    regions.dedup();
    let Some(standard) = standard else {
        return only_in(tax, &regions, here);
    };
    let mut reduced: Vec<&str> = rows
        .iter()
        .map(|row| row.rule.commodity.as_str())
        .filter(|goods| *goods != "*")
        .collect();
    reduced.sort_unstable();
    reduced.dedup();
    let mut by_rate: Vec<(Percent, Vec<String>)> = Vec::new();
    for (rate, goods) in reduced
        .into_iter()
        .filter_map(|goods| Some((rate_here(&rows, goods, here)?, names::goods(goods))))
    {
        match by_rate.iter_mut().find(|(other, _)| other.0 == rate.0) {
            Some((_, all)) => all.push(goods),
            None => by_rate.push((rate, vec![goods])),
        }
    }
    let reduced: Vec<String> = by_rate
        .iter()
        .map(|(rate, goods)| format!("{rate} on {}", list(goods, "and")))
        .collect();
    let reduced = if reduced.is_empty() {
        String::new()
    } else {
        format!(" ({})", list(&reduced, "and"))
    };
    Some(format!(
        "{} {standard}{reduced}{}{}.",
        names::tax(tax),
        bases(charges, here),
        elsewhere(&regions, here)
    ))
}

/// Whether a charge is on parts alone that are another thing together: then it is no rate of the country.
pub(super) fn on_kits(charge: &Charge) -> bool {
    let mut conditions = charge.when.conditions();
    conditions.any(|c| c.subject == Subject::Line(LineFact::Assembled))
}

/// The rate of a tax on most goods, in the region of delivery or else in the country.
pub(super) fn rate_of(tax: &str, here: Here<'_, '_>) -> Option<Percent> {
    let rows: Vec<&Dated<TaxRow>> = here
        .rows(&here.jurisdiction.law.taxes)
        .filter(|row| row.rule.tax == tax && row.rule.country == here.ask.to.code())
        .collect();
    rate_here(&rows, "*", here)
}

/// The rate on goods in the region of delivery, else in the country.
fn rate_here(rows: &[&Dated<TaxRow>], goods: &str, here: Here<'_, '_>) -> Option<Percent> {
    let in_region = |region: &str| {
        rows.iter()
            .find(|row| row.rule.commodity == goods && row.rule.region == region)
            .map(|row| row.rule.percent)
    };
    in_region(&here.jurisdiction.region).or_else(|| in_region(""))
}

fn only_in(tax: &str, regions: &[&str], here: Here<'_, '_>) -> Option<String> {
    let first = regions
        .first()
        .filter(|_| here.jurisdiction.region.is_empty())?;
    Some(format!(
        "{} in {} only, given as in `--to {}-{first}`.",
        names::tax(tax),
        list(regions, "and"),
        here.ask.to
    ))
}

fn elsewhere(regions: &[&str], here: Here<'_, '_>) -> String {
    match regions
        .first()
        .filter(|_| here.jurisdiction.region.is_empty())
    {
        Some(first) => format!(
            "; other rates in {} (as `--to {}-{first}`)",
            count(regions.len(), "region", "regions"),
            here.ask.to
        ),
        None => String::new(),
    }
}

/// What the tax is taken on at the border, and where the seller takes it.
fn bases(charges: &[&Charge], here: Here<'_, '_>) -> String {
    let of = |kind: Kind| {
        charges
            .iter()
            .find(|charge| charge.kind == kind)
            .and_then(|charge| base(charge, here))
    };
    match (of(Kind::Tax), of(Kind::SaleTax)) {
        (Some(border), Some(sale)) if border == sale => format!(" of {border}"),
        (Some(border), Some(sale)) => format!(" of {border}; of {sale} where the seller takes it"),
        (Some(border), None) => format!(" of {border}"),
        (None, Some(sale)) => format!(" of {sale}, taken by the seller"),
        (None, None) => String::new(),
    }
}

fn base(charge: &Charge, here: Here<'_, '_>) -> Option<String> {
    let sum = charge.of.as_ref()?;
    let mut leaves: Vec<Term> = Vec::new();
    sum.terms.iter().for_each(|term| {
        spread(
            term,
            &Factor::Fraction(Dec::ONE, Dec::ONE),
            here,
            DEEPEST,
            &mut leaves,
        );
    });
    whole_freight(&mut leaves);
    if !Bases::has_remedy(here) {
        leaves.retain(|leaf| leaf.name != "remedy");
    }
    let factor = leaves.first().map(|leaf| leaf.factor.clone())?;
    let fold = matches!(factor, Factor::Fraction(over, under) if over > under)
        && leaves.iter().all(|leaf| leaf.factor == factor);
    if fold && let Factor::Fraction(over, under) = factor {
        leaves
            .iter_mut()
            .for_each(|leaf| leaf.factor = Factor::Fraction(Dec::ONE, Dec::ONE));
        let all = all_of(&crate::tables::SumExpr { terms: leaves }, "and");
        return Some(format!(
            "{all}, all times {over}/{under} because the tax is part of its own base"
        ));
    }
    Some(all_of(&crate::tables::SumExpr { terms: leaves }, "and"))
}

/// A term as what it is made of in the end.
fn spread(term: &Term, outer: &Factor, here: Here<'_, '_>, depth: usize, leaves: &mut Vec<Term>) {
    let one = |factor: &Factor| matches!(factor, Factor::Fraction(over, under) if over == under);
    let factor = if one(outer) {
        term.factor.clone()
    } else {
        outer.clone()
    };
    let made_of = here
        .rows(&here.jurisdiction.law.charges)
        .map(|row| &row.rule)
        .filter(|c| c.id == term.name && c.kind == Kind::Value);
    let made_of = made_of
        .filter(|c| ordinary(c, here) && c.percent.is_none() && c.rate_from.is_none())
        .find_map(|c| c.of.as_ref());
    match made_of.filter(|_| depth > 0 && (one(outer) || one(&term.factor))) {
        Some(sum) => sum
            .terms
            .iter()
            .for_each(|inner| spread(inner, &factor, here, depth - 1, leaves)),
        None if leaves.iter().any(|leaf| leaf.name == term.name) => {}
        None => leaves.push(Term {
            minus: term.minus,
            factor,
            name: term.name.clone(),
        }),
    }
}

/// Freight up to the border and beyond it is freight.
fn whole_freight(leaves: &mut Vec<Term>) {
    let both = ["freight.border", "freight.inland"]
        .iter()
        .all(|name| leaves.iter().any(|leaf| leaf.name == *name));
    if both {
        leaves.retain(|leaf| leaf.name != "freight.inland");
        leaves
            .iter_mut()
            .filter(|leaf| leaf.name == "freight.border")
            .for_each(|leaf| "freight".clone_into(&mut leaf.name));
    }
}

/// Whether a row holds for what is bought, without a choice.
fn ordinary(charge: &Charge, here: Here<'_, '_>) -> bool {
    let gift = |c: &Condition| {
        c.subject == Subject::Parcel(ParcelFact::Given) && (c.op == Op::Equal) == (c.word == "yes")
    };
    let asks = |c: &Condition| match &c.subject {
        Subject::Choice(_) => c.op == Op::Equal,
        Subject::Parcel(ParcelFact::Region) => {
            (c.op == Op::Equal) != (c.word == here.jurisdiction.region)
        }
        _ => gift(c),
    };
    here.sides(&charge.when)
        .iter()
        .any(|side| !side.iter().any(asks))
}

/// The rows of layers that bear something.
fn bearing<'a>(layers: &'a [String], here: Here<'a, '_>) -> impl Iterator<Item = (&'a str, Dec)> {
    let rows = here
        .rows(&here.jurisdiction.law.tariff)
        .filter(move |row| layers.contains(&row.rule.layer));
    let rows = rows.filter(move |row| !here.sides(&row.rule.when).is_empty());
    let rates = rows.filter_map(|row| Some((row.rule.origin.as_str(), row.rule.percent?.0)));
    rates.filter(|(_, percent)| !percent.is_zero())
}

/// The rates of layers as one range: `7.5 to 25 %`.
pub(super) fn rates_of(layers: &[String], here: Here<'_, '_>) -> Option<String> {
    let percents = || bearing(layers, here).map(|(_, percent)| percent);
    let (least, most) = (percents().min()?, percents().max()?);
    Some(if least == most {
        format!("{most} %")
    } else {
        format!("{least} to {most} %")
    })
}

/// The same with the origins they are for: `7.5 to 25 % on goods made in China`.
pub(super) fn range_of(layers: &[String], here: Here<'_, '_>) -> Option<String> {
    let rates = rates_of(layers, here)?;
    let mut origins: Vec<&str> = bearing(layers, here).map(|(origin, _)| origin).collect();
    origins.sort_unstable();
    origins.dedup();
    let named = || {
        origins
            .iter()
            .map(|code| plain::place(code))
            .collect::<Vec<_>>()
    };
    Some(match origins.as_slice() {
        all if all.contains(&"*") => format!("{rates} on some goods"),
        all if all.len() <= 3 => format!("{rates} on goods made in {}", list(&named(), "or")),
        all => format!("{rates} by origin ({} countries)", all.len()),
    })
}
