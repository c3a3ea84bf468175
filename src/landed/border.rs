//! What is due at the door: the facts of a consignment as the rules want them, and the rules applied to them.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::jurisdiction::{CustomsRate, Jurisdiction, Prepared};
use super::parcel::Consignment;
use super::price::{Priced, ruled_freight};
use super::together::{Together, declare, made_of, rows_in_force, taken};
use crate::book::{Part, Remedies};
use crate::rules::{
    Assessment, Handling, Line, OpenDigits, Parcel, RowFilter, assess, grant, has_open_digits,
    settle_digits,
};
use crate::tables::{Assembly, PlaceRow, RowRef};
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

impl Scenario {
    /// A consignment as its rows say.
    pub(super) fn usual(jurisdiction: &Jurisdiction<'_>) -> Scenario {
        Scenario {
            counting: RowFilter {
                disputed: true,
                remedies: jurisdiction.ask.remedies == Remedies::Count,
            },
            origin: None,
            told: None,
            claim: Vec::new(),
            assembled: true,
            collects_tax: false,
            heading: None,
        }
    }
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
    /// What the parts together were taken for.
    pub(super) together: Option<Together>,
    /// Digits that the destination's tables do not know, by line.
    pub(crate) unknown_digits: Vec<(usize, String)>,
    /// Lines whose digits stop above rows that differ.
    pub(crate) open_digits: Vec<OpenDigits>,
    /// Things sold as one at several places, which could have another heading.
    pub(super) sets: Vec<SoldAsOne>,
    /// Lines whose claimed preference no row grants: they are assessed as if none were claimed.
    pub(crate) ungranted: Vec<usize>,
}

/// A thing sold as one at several places.
#[derive(Debug, Clone)]
pub(super) struct SoldAsOne {
    /// Its line.
    pub(super) at: usize,
    /// The other headings that its places have.
    pub(super) others: Vec<String>,
    /// The row in dispute that says which place gives it its character; none where the last heading counts.
    pub(super) row: Option<RowRef>,
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
    let made = || made_of(&parcel, consignment, jurisdiction, variant.counting);
    let together = variant.assembled.then(made).transpose()?.flatten();
    if let Some(found) = &together {
        found.declare(&mut parcel);
        sets.retain(|one| !found.lines.contains(&one.at));
        open.iter_mut()
            .enumerate()
            .for_each(|(at, open)| *open = *open && !found.lines.contains(&at));
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
        together,
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
    pub(super) things: Vec<Thing>,
    /// Whether the digits of any line stop above rows that differ, so that what it bears hangs on the package.
    pub(super) open_digits: bool,
}

/// A thing that some lines of a package may make.
pub(super) struct Thing {
    /// The row that makes it.
    pub(super) row: Assembly,
    /// How many of it.
    pub(super) wholes: u32,
    /// How many pieces of each place belong to them.
    pub(super) taken: BTreeMap<String, u32>,
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
    let mut things = Vec::new();
    for row in rows_in_force(&parcel, consignment, jurisdiction, variant.counting) {
        let Some(thing) = Thing::of(&row.rule, &parcel, jurisdiction) else {
            return Ok(None);
        };
        let (mut whole, mut open) = (parcel.clone(), digits.open.clone());
        let at_its_places = |at: &usize| {
            let line = &parcel.lines[*at];
            let mut places = line.places.iter();
            row.rule.takes(&line.commodity, &line.places)
                && places.any(|place| row.rule.places().any(|one| one == place))
        };
        let own: Vec<usize> = (0..parcel.lines.len()).filter(at_its_places).collect();
        declare(&mut whole, &row.rule, thing.wholes, &own);
        own.iter().for_each(|at| open[*at] = false);
        made.push((whole, open));
        things.push(thing);
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
        things,
        open_digits,
    }))
}

impl Thing {
    /// What a row makes of lines; none where those it needs are not alike in how many there are, or one has more pieces than belong
    /// to it.
    fn of(row: &Assembly, parcel: &Parcel, jurisdiction: &Jurisdiction<'_>) -> Option<Thing> {
        let at = |line: &Line, place: &str| {
            row.takes(&line.commodity, &line.places) && line.places.iter().any(|own| own == place)
        };
        let needed = parcel.lines.iter();
        let needed = needed.filter(|line| row.needs.iter().any(|place| at(line, place)));
        let mut pieces: Vec<u32> = needed.map(|line| line.pieces).collect();
        pieces.sort_unstable();
        pieces.dedup();
        // Where every part that is needed lies in the box of another, there is one of the whole.
        let wholes = match pieces.as_slice() {
            [] => 1,
            [one] => *one,
            _ => return None,
        };
        let taken = taken(row, wholes, jurisdiction);
        let too_many = |line: &Line| {
            let mut own = taken.iter().filter(|(place, _)| at(line, place));
            own.any(|(_, taken)| line.pieces > *taken)
        };
        (!parcel.lines.iter().any(too_many)).then_some(Thing {
            row: row.clone(),
            wholes,
            taken,
        })
    }
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
    /// Things sold as one, which could have another heading.
    sets: Vec<SoldAsOne>,
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
            digits.sets.push(SoldAsOne {
                at,
                others: class.others,
                row: class.stamp.filter(|_| class.by_character).map(|s| s.row),
            });
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
