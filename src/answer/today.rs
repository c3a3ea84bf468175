//! `landwaiter` alone in a build's folder: where the build stands today, and what to do now.

use super::case::show;
use super::checking::{look, until_mended};
use super::{Answer, Case, Told};
use crate::book::{Book, MassKind, Part, Standing};
use crate::landed::{Bill, ConsignmentState, Jurisdiction, Landed, on_the_bike};
use crate::report::{self, Deadline, Expected, Progress, Show, TodayReport};
use crate::settle::{DOOR, Ledger, settle};
use crate::steps::{Claim, claims};
use crate::tables::Need;
use crate::text::{Problems, Severity};
use crate::units::{Date, Overflow};
use crate::value::bench::Findings;

/// Where the build stands; what is refused is said as `check` says it.
pub(super) fn today(case: Option<&Case>, mut problems: Problems) -> Told {
    let found = case.map_or_else(Default::default, |case| look(case, &mut problems));
    let [errors, warnings] =
        [Severity::Error, Severity::Warning].map(|severity| problems.count(severity));
    let (Some(case), Some(landed), false) = (case, &found.landed, problems.refuse()) else {
        return Told {
            closing: until_mended(errors, warnings, found.only_plan),
            ..Told::refused(problems.sorted())
        };
    };
    match page(case, landed, &found.findings, warnings) {
        Ok(answer) => Told::done(Problems::new(), answer),
        Err(more) => Told::refused(more),
    }
}

fn page(
    case: &Case,
    landed: &Landed,
    findings: &Findings,
    warnings: usize,
) -> Result<Answer, Problems> {
    let show = show(case, landed.currency)?;
    let jurisdiction = Jurisdiction::open(&case.tables, &case.ask)?;
    let today = case.today.max(case.ask.date);
    let ledger = settle(&case.book, &jurisdiction)?.asking_after(&case.book, today);
    let claims = claims(&case.book, &jurisdiction, today)?;
    let rows: Vec<&Part> = case.book.build().collect();
    let report = TodayReport {
        landed,
        ask: &case.ask,
        today,
        progress: Progress {
            gone: case.book.parts.iter().filter(|row| row.is_gone()).count(),
            ..progress(&rows, &landed.open)
        },
        expected: expected(&landed.bills, &show)?,
        deadlines: deadlines(&ledger, &claims, today, &show),
        old_prices: about("price-old", landed),
        old_rates: about("rate-old", landed),
        unbilled: unbilled(&case.book, &landed.bills)?,
        unweighed: unweighed(&rows, &jurisdiction),
        empty: findings
            .empty
            .iter()
            .filter(|empty| empty.need == Need::Required)
            .map(|empty| empty.place.clone())
            .collect(),
        faulty: claims.iter().map(|claim| claim.part.clone()).collect(),
        warnings,
    };
    Ok(Answer {
        view: report::today_view(&report, &show)?,
        json: report::today_json(&report, &show)?,
    })
}

/// How many rows of the build are in each state; what is gone is no row of the build.
fn progress(rows: &[&Part], open: &[String]) -> Progress {
    let mut progress = Progress {
        all: rows.len(),
        ..Progress::default()
    };
    for row in rows {
        match row.standing {
            _ if open.contains(&row.name) => progress.open += 1,
            Standing::ToOrder => progress.to_order += 1,
            Standing::OnOrder => progress.on_the_way += 1,
            Standing::InHand | Standing::Given => progress.here += 1,
            Standing::Bundled => match holder(rows, row).map(|holder| holder.standing) {
                Some(Standing::OnOrder) => progress.on_the_way += 1,
                Some(Standing::ToOrder) => progress.to_order += 1,
                _ => progress.here += 1,
            },
        }
    }
    progress.weighed = rows
        .iter()
        .filter(|row| row.mass_kind == MassKind::Weighed && row.mass.is_some())
        .count();
    progress
}

/// The row in whose box a part lies, or in whose box that box lies.
fn holder<'a>(rows: &[&'a Part], row: &Part) -> Option<&'a Part> {
    let of = |row: &Part| {
        let name = row.comes_with.as_deref()?;
        rows.iter().find(|other| other.name == name).copied()
    };
    let mut found = of(row)?;
    // boxes that lie in each other are refused elsewhere: as many steps as there are rows are enough
    for _ in rows {
        match of(found).filter(|_| found.standing == Standing::Bundled) {
            Some(next) => found = next,
            None => break,
        }
    }
    Some(found)
}

/// The parcels on their way, the next to come first.
fn expected(bills: &[Bill], show: &Show) -> Result<Vec<Expected>, Overflow> {
    let one = |bill: &Bill| {
        Ok(Expected {
            parcel: bill.id.clone(),
            parts: bill.lines.iter().map(|line| line.part.clone()).collect(),
            on: (bill.arrival > bill.ordered).then_some(bill.arrival),
            at_door: show.shown(bill.amounts.at_door()?.minus(bill.known.at_door()?)?)?,
        })
    };
    let on_the_way = bills
        .iter()
        .filter(|bill| bill.kind == ConsignmentState::OnOrder && !bill.is_lost());
    let mut found: Vec<Expected> = on_the_way.map(one).collect::<Result<_, Overflow>>()?;
    found.sort_by(|a, b| (a.on, &a.parcel).cmp(&(b.on, &b.parcel)));
    Ok(found)
}

/// What must be done by when: claims, then charges on faulty goods, then warranties; those that are over are left out.
fn deadlines(ledger: &Ledger, faults: &[Claim], today: Date, show: &Show) -> Vec<Deadline> {
    let faults = faults.iter().filter_map(|claim| {
        let seller = match claim.seller.as_str() {
            "" => "the seller",
            name => name,
        };
        Some(Deadline {
            on: claim.until?,
            what: format!("claim {} from {seller}", claim.part),
            claim: true,
        })
    });
    let claims = ledger.parcels.iter().flat_map(|parcel| {
        let entries = parcel
            .entries
            .iter()
            .filter_map(|entry| entry.claim.as_ref());
        entries.filter_map(|claim| {
            let what = format!(
                "claim {} from {} for {}",
                show.money(claim.amount),
                claim.from,
                parcel.id
            );
            Some(Deadline {
                on: claim.until?,
                what,
                claim: true,
            })
        })
    });
    let rejects = ledger.rejects.iter().map(|(id, on, _)| Deadline {
        on: *on,
        what: format!("ask back the charges on faulty goods of {id}"),
        claim: false,
    });
    let warranties = ledger.warranties.iter().map(|(part, on)| Deadline {
        on: *on,
        what: format!("the warranty of {part} ends"),
        claim: false,
    });
    let all = faults.chain(claims).chain(rejects).chain(warranties);
    let mut found: Vec<Deadline> = all.filter(|deadline| deadline.on >= today).collect();
    found.sort_by(|a, b| (a.on, &a.what).cmp(&(b.on, &b.what)));
    found
}

/// What a caution of the build is about.
fn about(id: &str, landed: &Landed) -> Vec<String> {
    let cautions = landed.cautions.iter().filter(|caution| caution.id == id);
    let mut names: Vec<String> = cautions.flat_map(|caution| caution.about.clone()).collect();
    names.sort();
    names.dedup();
    names
}

/// Parcels that have come, bore charges at the door, and have no receipt for any of them.
fn unbilled(book: &Book, bills: &[Bill]) -> Result<Vec<String>, Overflow> {
    let mut found = Vec::new();
    for bill in bills
        .iter()
        .filter(|bill| bill.kind == ConsignmentState::InHand)
    {
        let told = book
            .receipts
            .iter()
            .any(|receipt| receipt.consignment == bill.id && DOOR.contains(&receipt.charge));
        if !told && bill.amounts.at_door()?.is_positive() {
            found.push(bill.id.clone());
        }
    }
    Ok(found)
}

/// Parts that are here, have a claimed or a guessed mass, and were never on a scale.
fn unweighed(rows: &[&Part], jurisdiction: &Jurisdiction<'_>) -> Vec<String> {
    let here = rows
        .iter()
        .filter(|row| on_the_bike(row, jurisdiction))
        .filter(|row| matches!(row.standing, Standing::InHand | Standing::Given));
    let unweighed = here.filter(|row| row.mass_kind != MassKind::Weighed || row.mass.is_none());
    unweighed.map(|row| row.name.clone()).collect()
}
