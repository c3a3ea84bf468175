//! What a page, its pictures and a workbook are made of: everything that the program finds about a book, gathered once.

use super::case::{show, sound};
use super::{Case, front};
use crate::compare::{Options, compare_at};
use crate::landed::{Cautions, Jurisdiction, cost_at};
use crate::leeway::leeway;
use crate::plan::Watch;
use crate::rank::rank_at;
use crate::report::{self, Figures, Known, More, SettleReport, Show, Showing, View};
use crate::settle::{Ledger, Scales, history, settle, weigh};
use crate::steps;
use crate::text::{Diagnostic, Problems};
use crate::value::scale::weighed;

/// As `leeway` has it where nothing is said: days to the settlement of the card.
const DAYS: u32 = 3;
/// As `leeway` has it where nothing is said: how sure the sum to keep ready is, out of a hundred.
const ASSURANCE: u32 = 90;

/// Finds everything that a page shows and gives it to what makes the page; what is strange in the law and refuses nothing goes to
/// the list.
pub(crate) fn showing<T>(
    case: &Case,
    hides_prices: bool,
    watch: &dyn Watch,
    problems: &mut Problems,
    make: impl FnOnce(&Showing<'_>, &mut Problems) -> Result<T, Problems>,
) -> Result<T, Problems> {
    let jurisdiction = Jurisdiction::open(&case.tables, &case.ask)?;
    problems.also(&jurisdiction.warnings);
    sound(case, &jurisdiction)?;
    let mut landed = cost_at(&case.book, &jurisdiction)?;
    let mut said = Cautions::default();
    let scale = weighed(&case.book, &jurisdiction, &mut said)?;
    landed.cautions.extend(said.into_list());
    let comparison = if case.book.bikes.is_empty() {
        None
    } else {
        compare_at(&case.book, &jurisdiction, Options::default()).ok()
    };
    let ranking = rank_at(&case.book, &jurisdiction).ok();
    let whole = landed.totals.landed()?;
    let hidden = hides_prices.then_some(whole.amount());
    let show = show(case, landed.currency)?;
    // where prices are hidden neither range nor plans are drawn
    let moves = match hidden {
        None => leeway(&case.book, &jurisdiction, DAYS, ASSURANCE.into()).ok(),
        Some(_) => None,
    };
    let ledger = if case.book.receipts.is_empty() {
        None
    } else {
        Some(settle(&case.book, &jurisdiction)?)
    };
    let scales = if case.book.weighings.is_empty() {
        None
    } else {
        Some(weigh(&case.book, &jurisdiction)?)
    };
    let settled = match (&ledger, &scales, hidden) {
        (Some(ledger), scales, None) => Some(settled_view(
            case,
            &jurisdiction,
            (ledger, scales.as_ref()),
            &show,
        )?),
        _ => None,
    };
    let plans = match hidden {
        None => front::front(case, watch),
        Some(_) => None,
    };
    let known = Known {
        plans: plans.as_deref(),
        ask: Some(&case.ask),
        comparison: comparison.as_ref(),
        ranking: ranking.as_ref(),
        leeway: moves.as_ref(),
        show: Some(&show),
        settled,
        ledger: ledger.as_ref(),
        scales: scales.as_ref(),
        whole: scale.as_ref(),
        book: Some(&case.book),
    };
    let mut more = More::of(&known)?;
    more.owned = report::owned(&case.book, &jurisdiction, scale.as_ref())?;
    let showing = Showing {
        landed: &landed,
        ask: &case.ask,
        jurisdiction: &jurisdiction,
        figures: Figures { show, hidden },
        comparison: comparison.as_ref(),
        ranking: ranking.as_ref(),
        more,
    };
    make(&showing, problems)
}

/// What `settle` says of the receipts, on the day of the book.
fn settled_view(
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    (ledger, scales): (&Ledger, Option<&Scales>),
    show: &Show,
) -> Result<View, Problems> {
    let ledger = ledger.clone().asking_after(&case.book, case.ask.date);
    let ledger = report::settled_in(&ledger, show)?;
    let (sellers, charges) = history(&ledger)?;
    let faults = steps::claims(&case.book, jurisdiction, case.ask.date)?;
    let faults = report::claims_in(&faults, show)?;
    let none = Scales::default();
    let report = SettleReport {
        ledger: &ledger,
        scales: scales.unwrap_or(&none),
        history: (&sellers, &charges),
        faults: &faults,
        day: case.ask.date,
    };
    Ok(report::settle_view(&report, &[], show)?)
}

/// A workbook that calculates what the book costs, and that sum in a sentence.
#[cfg(feature = "pages")]
pub(crate) fn workbook(
    case: &Case,
    hides_prices: bool,
    problems: &mut Problems,
) -> Result<(Vec<u8>, String), Problems> {
    let jurisdiction = Jurisdiction::open(&case.tables, &case.ask)?;
    problems.also(&jurisdiction.warnings);
    sound(case, &jurisdiction)?;
    let mut landed = cost_at(&case.book, &jurisdiction)?;
    let mut said = Cautions::default();
    weighed(&case.book, &jurisdiction, &mut said)?;
    landed.cautions.extend(said.into_list());
    if hides_prices {
        let what = "a workbook is made of prices, so they cannot be left out: drop `prices` from `--hide`, or write a page";
        return Err(Problems::from(Diagnostic::error(what)));
    }
    let works = crate::landed::workings(&case.book, &jurisdiction)?;
    let broken = |error: String| {
        let what = format!("the workbook cannot be written: {error}");
        Problems::from(Diagnostic::error(what))
    };
    let sum = report::landed_line(&landed, &show(case, landed.currency)?)?;
    Ok((report::workbook(&landed, &works).map_err(broken)?, sum))
}

/// A program without workbooks says so.
#[cfg(not(feature = "pages"))]
pub(crate) fn workbook(_: &Case, _: bool, _: &mut Problems) -> Result<(Vec<u8>, String), Problems> {
    let what = "this program was built without workbooks";
    Err(Problems::from(Diagnostic::error(what)))
}
