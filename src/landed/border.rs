//! What is due at the door: the facts of a consignment as the rules want them, and the rules applied to them.

use std::rc::Rc;

use super::jurisdiction::{CustomsRate, Jurisdiction, Prepared};
use super::parcel::Consignment;
use super::price::{Priced, ruled_freight};
use crate::book::Part;
use crate::rules::{
    Assessment, Handling, Line, OpenDigits, Parcel, RowFilter, assess, grant, has_open_digits,
    settle_digits,
};
use crate::tables::{Assembly, Dated, PlaceRow, RowRef};
use crate::text::Diagnostic;
use crate::units::{HomeMoney, Overflow};

/// What is looked at differently from what the rows say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Scenario {
    /// Which rows count.
    pub(crate) counting: RowFilter,
    /// Origin of the lines that state none, instead of the country of dispatch.
    pub(crate) origin: Option<String>,
    /// A fact of goods and its value, on the lines that tell nothing of it.
    pub(crate) told: Option<(String, String)>,
    /// Lines that claim a preference beside those whose rows say so.
    pub(crate) claim: Vec<usize>,
    /// Parts that together are another thing are that thing.
    pub(crate) assembled: bool,
    /// What is taken where the book does not say whether the seller takes the tax with the order.
    pub(crate) collects_tax: bool,
    /// A line, and the digits it has instead of those of its place.
    pub(crate) heading: Option<(usize, String)>,
}

/// The facts and the findings of one consignment.
pub(super) struct BorderAssessment {
    /// The rules applied.
    pub(crate) prepared: Rc<Prepared>,
    /// The facts.
    pub(crate) parcel: Parcel,
    /// The findings.
    pub(crate) assessment: Assessment,
    /// The customs rate.
    pub(crate) customs: CustomsRate,
    /// The assembly the parts were taken for.
    pub(crate) assembly: Option<Dated<Assembly>>,
    /// Digits that the destination's tables do not know, by line.
    pub(crate) unknown_digits: Vec<(usize, String)>,
    /// Lines whose digits stop above rows that differ.
    pub(crate) open_digits: Vec<OpenDigits>,
    /// Things sold as one at several places, with the other headings that these have.
    pub(crate) sets: Vec<(usize, Vec<String>)>,
    /// Lines whose claimed preference no row grants: they are assessed as if none were claimed.
    pub(crate) ungranted: Vec<usize>,
}

/// Puts a consignment before the rules.
pub(super) fn assess_at_door(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    jurisdiction: &Jurisdiction<'_>,
    variant: &Scenario,
) -> Result<BorderAssessment, Diagnostic> {
    let prepared =
        jurisdiction.prepared(consignment.ordered, consignment.arrival, variant.counting)?;
    let customs = jurisdiction
        .customs_rate(priced.currency, consignment.arrival)
        .map_err(|p| at_currency(p, consignment))?;
    let mut parcel = facts(consignment, priced, jurisdiction, variant, &customs)?;
    for name in prepared.program.schedules() {
        parcel.schedules.insert(
            name.to_owned(),
            ruled_freight(name, consignment, jurisdiction, priced.packed)?,
        );
    }
    let Digits {
        unknown: unknown_digits,
        mut open,
        mut sets,
    } = classify(&mut parcel, &prepared, jurisdiction, variant)?;
    let assembly = if variant.assembled {
        assembly_of(&parcel, consignment, jurisdiction, variant.counting)
    } else {
        None
    };
    if let Some(found) = &assembly {
        let one = assemble(&mut parcel, &found.rule);
        sets.retain(|(at, _)| !one.contains(at));
        open.iter_mut()
            .enumerate()
            .for_each(|(at, open)| *open = *open && !one.contains(&at));
    }
    let open_digits = settle_digits(&prepared.program, &mut parcel, &open)?;
    let ungranted = grant(&prepared.program, &mut parcel)?;
    let assessment = assess(&prepared.program, &parcel)?;
    refuse_unsound(&assessment, consignment, jurisdiction)?;
    Ok(BorderAssessment {
        prepared,
        parcel,
        assessment,
        customs,
        assembly,
        unknown_digits,
        open_digits,
        sets,
        ungranted,
    })
}

/// Refuses rows of law that contradict each other or give money.
fn refuse_unsound(
    assessment: &Assessment,
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(), Diagnostic> {
    if let Some((id, one, other)) = assessment.clashes.first() {
        let what = format!(
            "two rows of `{id}` hold at once for {}: their conditions must exclude each other",
            consignment.id
        );
        return Err(Diagnostic::error(what)
            .at(other.place())
            .note(format!("the other row is {one}")));
    }
    if let Some((id, least, row)) = assessment.negative.first() {
        let amount = jurisdiction.money(HomeMoney::of(*least));
        let what = format!(
            "`{id}` comes to {amount} for {}: a charge takes money and never gives any",
            consignment.id
        );
        let help =
            "set `min` to 0, with its currency, where the sum in `of` may be less than nothing";
        return Err(Diagnostic::error(what).at(row.place()).help(help));
    }
    Ok(())
}

/// The lines of packages that hold some of a seller's offers, as customs may see them.
pub(super) struct Wide {
    /// The rules applied.
    pub(crate) prepared: Rc<Prepared>,
    /// As single parts, and once more for each thing that some of them may make: with the digits that cost the most where they
    /// stop above rows that differ, and with their own.
    pub(crate) parcels: Vec<(Parcel, Option<Parcel>)>,
    /// The things, in the same order.
    pub(super) assemblies: Vec<Assembly>,
    /// Whether the digits of any line stop above rows that differ, so that what it bears hangs on the package.
    pub(super) open_digits: bool,
}

/// All offers of a seller put before the rules as if they were one parcel, whose amounts do not matter; none where parts that are
/// one thing are not alike in how many there are.
pub(super) fn all_lines(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    jurisdiction: &Jurisdiction<'_>,
    variant: &Scenario,
) -> Result<Option<Wide>, Diagnostic> {
    let prepared =
        jurisdiction.prepared(consignment.ordered, consignment.arrival, variant.counting)?;
    let customs = jurisdiction.customs_rate(priced.currency, consignment.arrival)?;
    let mut parcel = facts(consignment, priced, jurisdiction, variant, &customs)?;
    for name in prepared.program.schedules() {
        parcel.schedules.insert(name.to_owned(), HomeMoney::ZERO);
    }
    let digits = classify(&mut parcel, &prepared, jurisdiction, variant)?;
    let mut made = vec![(parcel.clone(), digits.open.clone())];
    let mut assemblies = Vec::new();
    for assembly in assemblies_of(&parcel, consignment, jurisdiction, variant.counting) {
        let needed = parcel.lines.iter().filter(|line| {
            let mut places = line.places.iter();
            places.any(|place| assembly.rule.needs.contains(place))
        });
        let mut pieces: Vec<u32> = needed.map(|line| line.pieces).collect();
        pieces.sort_unstable();
        pieces.dedup();
        if pieces.len() > 1 {
            return Ok(None);
        }
        let (mut whole, mut open) = (parcel.clone(), digits.open.clone());
        for at in assemble(&mut whole, &assembly.rule) {
            open[at] = false;
        }
        made.push((whole, open));
        assemblies.push(assembly.rule.clone());
    }
    let mut parcels = Vec::with_capacity(made.len());
    let mut open_digits = false;
    for (mut own, open) in made {
        open_digits |= has_open_digits(&prepared.program, &own, &open);
        let mut dearest = own.clone();
        settle_digits(&prepared.program, &mut dearest, &open)?;
        grant(&prepared.program, &mut dearest)?;
        grant(&prepared.program, &mut own)?;
        let same =
            (0..own.lines.len()).all(|at| own.lines[at].commodity == dearest.lines[at].commodity);
        parcels.push((dearest, (!same).then_some(own)));
    }
    Ok(Some(Wide {
        prepared,
        parcels,
        assemblies,
        open_digits,
    }))
}

/// A missing rate is the row's that names its currency.
pub(super) fn at_currency(problem: Diagnostic, consignment: &Consignment<'_>) -> Diagnostic {
    match consignment
        .at_currency()
        .filter(|_| problem.place.is_none())
    {
        Some(place) => problem.at(place),
        None => problem,
    }
}

fn facts(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    jurisdiction: &Jurisdiction<'_>,
    variant: &Scenario,
    customs: &CustomsRate,
) -> Result<Parcel, Diagnostic> {
    let rows = consignment.rows.iter().zip(&priced.lines).enumerate();
    let lines = rows.map(|(at, (row, line))| {
        let claimed = row.origin.is_some() && (row.preference || variant.claim.contains(&at));
        Ok(Line {
            preference: claimed,
            ..facts_of_line(row, line, consignment, variant)?
        })
    });
    let lines = lines.collect::<Result<Vec<_>, Overflow>>()?;
    let handling = match consignment.handling {
        Some(fee) => Some(Handling {
            percent: fee.percent,
            least: HomeMoney::of(fee.least),
            row: handling_row(consignment)?,
        }),
        None => None,
    };
    Ok(Parcel {
        to: jurisdiction.ask.to,
        region: jurisdiction.region.clone(),
        dispatch: consignment.dispatch,
        channel: consignment.channel,
        sender: consignment.sender,
        collects_tax: consignment
            .seller
            .and_then(|s| s.collects_tax)
            .unwrap_or(variant.collects_tax),
        terms: consignment.terms().to_owned(),
        ordered: consignment.ordered,
        arrival: consignment.arrival,
        choices: jurisdiction.ask.choices.clone(),
        paid_in: priced.currency,
        customs: customs.quote.rate,
        border_freight: jurisdiction.border_freight(
            consignment.channel.name(),
            consignment.dispatch.code(),
            consignment.arrival,
        ),
        handling,
        schedules: std::collections::BTreeMap::new(),
        lines,
    })
}

/// The row that gives the carrier's own fee: the parcel's, else the seller's.
fn handling_row(consignment: &Consignment<'_>) -> Result<RowRef, Diagnostic> {
    let of_rows = || consignment.rows.first().map(|row| row.at.place());
    let place = consignment.seller.map(|s| s.at.place()).or_else(of_rows);
    place
        .map(RowRef::of)
        .ok_or_else(|| Diagnostic::defect("a carrier's fee stands in no row"))
}

fn facts_of_line(
    row: &Part,
    line: &crate::rules::AskedLine,
    consignment: &Consignment<'_>,
    variant: &Scenario,
) -> Result<Line, Overflow> {
    let assumed = || {
        variant
            .origin
            .clone()
            .unwrap_or_else(|| consignment.dispatch.code().to_owned())
    };
    let mut traits = row.traits.clone();
    if let Some((name, value)) = &variant.told {
        traits.entry(name.clone()).or_insert_with(|| value.clone());
    }
    Ok(Line {
        places: row.places.clone(),
        commodity: row.commodity.clone(),
        declared_as: row.declared_as.clone(),
        origin: row.origin.map_or_else(assumed, |o| o.code().to_owned()),
        preference: false,
        pieces: row.quantity,
        whole: None,
        unit_mass: row.mass,
        packed: line.packed,
        traits,
        list: line.list,
        goods: line.goods()?,
        freight: line.freight,
        insurance: line.insurance,
    })
}

/// What was found out about the digits of a parcel's lines.
struct Digits {
    /// Those that the tables do not know, by line.
    unknown: Vec<(usize, String)>,
    /// For each line, whether nobody has said what it is beyond its digits.
    open: Vec<bool>,
    /// Things sold as one, with the other headings their places have.
    sets: Vec<(usize, Vec<String>)>,
}

/// Gives every line its digits and its name on a declaration.
fn classify(
    parcel: &mut Parcel,
    prepared: &Prepared,
    jurisdiction: &Jurisdiction<'_>,
    variant: &Scenario,
) -> Result<Digits, Diagnostic> {
    let of_line = |line: &Line| {
        line.places
            .iter()
            .map(|place| jurisdiction.place(place))
            .collect()
    };
    let places: Vec<Vec<Option<&PlaceRow>>> = parcel.lines.iter().map(of_line).collect();
    let hs6: Vec<Vec<&str>> = places
        .iter()
        .map(|own| {
            own.iter()
                .map(|place| place.map_or("", |place| place.hs6.as_str()))
                .collect()
        })
        .collect();
    let classes = prepared.codes.classify(&prepared.program, parcel, &hs6)?;
    let mut digits = Digits {
        unknown: Vec::new(),
        open: Vec::new(),
        sets: Vec::new(),
    };
    for (at, ((line, class), places)) in parcel
        .lines
        .iter_mut()
        .zip(classes)
        .zip(&places)
        .enumerate()
    {
        let supposed = variant
            .heading
            .as_ref()
            .filter(|(of, _)| *of == at)
            .map(|(_, digits)| digits.clone());
        digits
            .unknown
            .extend(class.unknown.map(|digits| (at, digits)));
        digits.open.push(class.open && supposed.is_none());
        if !class.others.is_empty() {
            digits.sets.push((at, class.others));
        }
        line.commodity = supposed.unwrap_or(class.commodity);
        if line.declared_as.is_empty() {
            line.declared_as = match (
                class.text.as_str(),
                places.get(class.place).copied().flatten(),
            ) {
                ("", Some(place)) => place.text.clone(),
                _ => class.text,
            };
        }
    }
    Ok(digits)
}

/// The assembly that the parts of one parcel make, if they make one by a row that counts.
fn assembly_of(
    parcel: &Parcel,
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
    counting: RowFilter,
) -> Option<Dated<Assembly>> {
    assemblies_of(parcel, consignment, jurisdiction, counting)
        .into_iter()
        .next()
        .cloned()
}

/// All assemblies that some parts of a parcel make, the one that counts first.
fn assemblies_of<'d>(
    parcel: &Parcel,
    consignment: &Consignment<'_>,
    jurisdiction: &'d Jurisdiction<'_>,
    counting: RowFilter,
) -> Vec<&'d Dated<Assembly>> {
    let rows = consignment.rows.iter().chain(&consignment.bundled);
    let places: Vec<&str> = rows
        .flat_map(|row| row.places.iter().map(String::as_str))
        .collect();
    let here = |name: &String| places.contains(&name.as_str());
    let in_force = jurisdiction
        .law
        .assemblies
        .iter()
        .filter(|a| a.stamp.in_force(parcel.arrival))
        .filter(|a| counting.disputed || !a.stamp.disputed());
    let made = in_force.filter(|a| {
        a.rule.needs.iter().all(here)
            && a.rule.of.iter().filter(|one| one.iter().any(here)).count() >= a.rule.any
    });
    made.filter(|a| !declared_whole(consignment, &a.rule))
        .collect()
}

/// Whether the parts that make an assembly all have its own heading in the book: then it is not asked what they make together.
fn declared_whole(consignment: &Consignment<'_>, assembly: &Assembly) -> bool {
    const HEADING: usize = 4;
    let heading = assembly.commodity.get(..HEADING);
    let named = |place: &String| {
        let mut names = assembly.needs.iter().chain(assembly.of.iter().flatten());
        names.any(|name| name == place)
    };
    let rows = consignment.rows.iter().chain(&consignment.bundled);
    rows.filter(|row| row.places.iter().any(named))
        .all(|row| row.commodity.get(..HEADING) == heading)
}

/// The parts that make the assembly bear its digits and its name, and are one line of the declaration. Returns them.
fn assemble(parcel: &mut Parcel, assembly: &Assembly) -> Vec<usize> {
    let names: Vec<&String> = assembly
        .needs
        .iter()
        .chain(assembly.of.iter().flatten())
        .collect();
    let at_one_of =
        |line: &Line, names: &[&String]| line.places.iter().any(|place| names.contains(&place));
    let needed: Vec<&String> = assembly.needs.iter().collect();
    // Where every part that is needed lies in the box of another, there is one of the whole.
    let whole = parcel
        .lines
        .iter()
        .filter(|line| at_one_of(line, &needed))
        .map(|line| line.pieces)
        .min()
        .unwrap_or(1);
    let mut one = Vec::new();
    for (at, line) in parcel
        .lines
        .iter_mut()
        .enumerate()
        .filter(|(_, line)| at_one_of(line, &names))
    {
        line.commodity.clone_from(&assembly.commodity);
        line.declared_as.clone_from(&assembly.text);
        line.whole = Some(whole);
        one.push(at);
    }
    one
}
