//! The commands that look beyond a single figure: before ordering how far it can move, after delivery what became of it.

use super::case::show;
use super::{Answer, Answered, Case, Format, Shape};
use crate::book::Fault;
use crate::landed::{Caution, Cautions, Jurisdiction, UnknownChoice, cost_at};
use crate::leeway::{break_even, leeway, mass_range};
use crate::rank::Ranking;
use crate::report::{self, LeewayReport, SettleReport};
use crate::returns::{lost, returned};
use crate::settle::{history, settle as settle_book, weigh};
use crate::steps;
use crate::tables::{REASONS, Reason};
use crate::text::{Diagnostic, Problems};
use crate::units::{Date, Dec, Percent, number};
use crate::value::scale::weighed;

fn destination(case: &Case) -> String {
    if case.ask.region.is_empty() {
        case.ask.to.to_string()
    } else {
        format!("{}-{}", case.ask.to, case.ask.region)
    }
}

/// What is to be said of choices of rules that no table knows.
fn choices(jurisdiction: &Jurisdiction<'_>) -> Vec<Caution> {
    let unknown = jurisdiction.unknown_choices().into_iter();
    unknown.map(UnknownChoice::caution).collect()
}

/// How far the total can move.
pub(super) fn leeway_of(
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    shape: Shape,
    (assurance, days): (&str, u32),
    with_tools: bool,
) -> Answered {
    let assurance = Percent::parse(assurance, 100)
        .map_err(|why| {
            Problems::from(Diagnostic::error(format!(
                "`--assurance {assurance}`: {why}"
            )))
        })?
        .0;
    if assurance < Dec::ONE || assurance > Dec::from(99_u32) {
        return Err(Problems::from(Diagnostic::error(format!(
            "`--assurance {assurance}`: expected a percentage from 1 to 99"
        ))));
    }
    let found = leeway(&case.book, jurisdiction, days, assurance)?;
    let mass = mass_range(&case.book, jurisdiction)?;
    let break_even = break_even(&case.book, jurisdiction, with_tools)?;
    let show = show(case, jurisdiction.currency())?;
    let mut said = Cautions::default();
    let scale = weighed(&case.book, jurisdiction, &mut said)?;
    let report = LeewayReport {
        leeway: &found,
        mass: mass.as_ref(),
        scale: scale.as_ref(),
        break_even: &break_even,
        budget: case.ask.budget,
        max_mass: case.ask.max_mass,
    };
    said.extend(choices(jurisdiction));
    let said = said.into_list();
    let view = report::leeway_view(&report, &said, &show)?;
    let tables = report::tables_json(jurisdiction, &case.ask);
    let mut json = report::leeway_json(
        &report,
        &show,
        &case.ask.date.to_string(),
        &destination(case),
        tables,
    )?;
    report::add_to_json(&said, &mut json);
    let bills = if shape.trail {
        cost_at(&case.book, jurisdiction)?.bills
    } else {
        Vec::new()
    };
    Ok(Answer { view, json }.with_trails(shape, &bills, &show))
}

/// The day a flag names, else today.
fn day_of(flag: Option<&str>, case: &Case) -> Result<Date, Problems> {
    flag.map_or(Ok(case.today), |text| {
        Date::parse(text)
            .map_err(|why| Problems::from(Diagnostic::error(format!("`--day {text}`: {why}"))))
    })
}

/// The user's question about a part that may go back.
pub(crate) struct Back<'a> {
    pub(crate) part: &'a str,
    /// Why; where nobody says, the book may know.
    pub(crate) reason: Option<&'a str>,
    pub(crate) repair: Option<&'a str>,
    pub(crate) day: Option<&'a str>,
}

/// Why a part goes back: as said, else because it is at fault where the book says so. What never came is at fault whatever is said.
fn why(said: Option<&str>, fault: Option<Fault>) -> Reason {
    let said = said.and_then(|said| REASONS.iter().find(|(word, _)| *word == said));
    match (said, fault) {
        (_, Some(Fault::Missing)) | (None, Some(Fault::Damaged)) => Reason::Faulty,
        (Some((_, reason)), _) => *reason,
        (None, None) => Reason::Unwanted,
    }
}

/// Keep a part or send it back.
pub(super) fn return_of(
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    shape: Shape,
    what: &Back<'_>,
) -> Answered {
    let Back {
        part,
        reason,
        repair,
        day,
    } = *what;
    let fault = case.book.main_row(part).and_then(|row| row.fault);
    let reason = why(reason, fault);
    let amount = |text: &str| match number::plain(text) {
        Ok(amount) if !amount.is_negative() => Ok(amount),
        _ => Err(Problems::from(Diagnostic::error(format!(
            "`--repair {text}`: expected an amount such as `25.00`, in the destination's money"
        )))),
    };
    let repair = repair.map(amount).transpose()?;
    let found = returned(&case.book, jurisdiction, part, reason, day_of(day, case)?)?;
    let show = show(case, jurisdiction.currency())?;
    let faulty = if reason == Reason::Unwanted {
        Some(returned(
            &case.book,
            jurisdiction,
            part,
            Reason::Faulty,
            found.day,
        )?)
    } else {
        None
    };
    let said = choices(jurisdiction);
    let beside = report::Beside {
        repair,
        faulty: faulty.as_ref(),
        said: &said,
    };
    let rows = shape.trail || shape.format == Format::Csv;
    let view = report::return_view(&found, &beside, rows, &show)?;
    let mut json = report::return_json(
        &found,
        repair,
        &show,
        &destination(case),
        report::tables_json(jurisdiction, &case.ask),
    )?;
    report::add_to_json(&said, &mut json);
    Ok(Answer { view, json }.with_trails(shape, std::slice::from_ref(&found.bill), &show))
}

/// What bills and scales say of the estimate; `rows` have just been added to the book.
pub(crate) fn settle(
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    shape: Shape,
    rows: &[String],
    day: Option<&str>,
) -> Answered {
    // Without a day of its own the book is looked at today, or on its day where that is later.
    let (told, day) = (day.is_some(), day_of(day, case)?);
    let seen = if told { day } else { day.max(case.ask.date) };
    let ledger = settle_book(&case.book, jurisdiction)?.asking_after(&case.book, seen);
    let scales = weigh(&case.book, jurisdiction)?;
    let show = show(case, jurisdiction.currency())?;
    let ledger = report::settled_in(&ledger, &show)?;
    let faults = steps::claims(&case.book, jurisdiction, seen)?;
    let faults = report::claims_in(&faults, &show)?;
    let (there, (sellers, charges)) = (show.as_it_is(), history(&ledger)?);
    let report = SettleReport {
        ledger: &ledger,
        scales: &scales,
        history: (&sellers, &charges),
        faults: &faults,
        day,
    };
    let said = choices(jurisdiction);
    let mut view = report::View::default();
    for row in rows {
        view.say(format!("Added: {row}"));
    }
    view.blocks
        .extend(report::settle_view(&report, &said, &show)?.blocks);
    let mut json = report::settle_json(
        &report,
        &there,
        &destination(case),
        report::tables_json(jurisdiction, &case.ask),
    )?;
    report::add_to_json(&said, &mut json);
    // What receipts are held against is what was calculated without them.
    let bills = if shape.trail {
        cost_at(&case.book.before(), jurisdiction)?.bills
    } else {
        Vec::new()
    };
    Ok(Answer { view, json }.with_trails(shape, &bills, &show))
}

/// What each ranked option would lose if it did not fit and went back, in the ranking's order; another offer of a part that
/// the build has is not looked at.
pub(super) fn losses(
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    ranking: &Ranking,
) -> Vec<(String, Option<Dec>)> {
    let loss = |part: &str, offer: bool| {
        if offer {
            None
        } else {
            lost(&case.book, jurisdiction, part).ok()
        }
    };
    ranking
        .options
        .iter()
        .map(|option| (option.part.clone(), loss(&option.part, option.offer)))
        .collect()
}
