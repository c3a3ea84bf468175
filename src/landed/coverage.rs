//! What one imagined part of a place comes to at a destination: whether it can be priced from rows that were read, and what
//! duty it bears.

use super::jurisdiction::Jurisdiction;
use super::total::{Landed, cost_rows};
use super::trail::Step;
use crate::book::{Book, BookFile, Part};
use crate::tables::{Evidence, Kind};
use crate::text::Problems;
use crate::units::{Dec, Mode, Percent};

/// How a part can be priced.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Known {
    /// It crosses no border: nothing is charged.
    Home,
    /// From rows that were read or follow from what was read.
    Read,
    /// With a row from memory among them.
    Recalled,
    /// A rate of duty is missing.
    Gap,
}

/// What the price of one imagined part rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Coverage {
    /// How it is known.
    pub(crate) known: Known,
    /// The digits its part was taken for.
    pub(crate) commodity: String,
    /// Why there is a gap; which rows are from memory.
    pub(crate) why: Vec<String>,
}

/// Prices one imagined part of a place, sent from and made in a country, by courier, and says what it rests on.
pub(crate) fn coverage(jurisdiction: &Jurisdiction<'_>, place: &str, dispatch: &str) -> Coverage {
    if jurisdiction.is_home(dispatch) {
        return Coverage {
            known: Known::Home,
            commodity: String::new(),
            why: Vec::new(),
        };
    }
    match priced(jurisdiction, place, dispatch) {
        Ok(landed) => covered(&landed),
        Err(problems) => {
            let why = problems
                .iter()
                .map(|problem| problem.message.clone())
                .collect();
            Coverage {
                known: Known::Gap,
                commodity: String::new(),
                why,
            }
        }
    }
}

/// One part of 1,500 EUR, sent from and made in a country, by courier.
fn priced(
    jurisdiction: &Jurisdiction<'_>,
    place: &str,
    dispatch: &str,
) -> Result<Landed, Problems> {
    let text = format!(
        "part,place,seller,price,currency,dispatch,origin,mass_g,freight\nprobe,{place},probe,1500,EUR,{dispatch},{dispatch},1000,20\n"
    );
    let file = BookFile {
        path: "probe".to_owned(),
        table: "parts".to_owned(),
        bytes: text.into_bytes(),
    };
    let book = Book::read(&[file], &mut Problems::new());
    let rows: Vec<&Part> = book.parts.iter().collect();
    cost_rows(&book, &rows, jurisdiction)
}

/// What an imagined part bears at the border, in percent of its customs value; of its price where no row makes a customs value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Burden {
    /// It crosses no border.
    Home,
    /// No rate of duty is known.
    Unknown,
    /// Customs duties, and anti-dumping or countervailing duty.
    Bears {
        /// Customs duties together.
        duty: Percent,
        /// Anti-dumping and countervailing duty together.
        remedy: Percent,
        /// Whether a disputed row is among the customs duties; a disputed fee is not looked at.
        disputed: bool,
        /// Whether a disputed row is among the others.
        remedy_disputed: bool,
    },
}

/// What a part of a place bears, sent from and made in a country, 1,500 EUR by courier.
pub(crate) fn burden(jurisdiction: &Jurisdiction<'_>, place: &str, dispatch: &str) -> Burden {
    if jurisdiction.is_home(dispatch) {
        return Burden::Home;
    }
    let Ok(landed) = priced(jurisdiction, place, dispatch) else {
        return Burden::Unknown;
    };
    let Some(bill) = landed.bills.first().filter(|bill| bill.gaps.is_empty()) else {
        return Burden::Unknown;
    };
    let base = if bill.customs_value.is_zero() {
        bill.intrinsic_value.amount()
    } else {
        bill.customs_value.amount()
    };
    let share = |of: Dec| {
        let percent = of.times(Dec::HUNDRED).and_then(|sum| sum.over(base)).ok()?;
        Some(Percent(percent.round_to(1, Mode::HalfUp)))
    };
    match (
        share(bill.amounts.duty.amount()),
        share(bill.amounts.remedy.amount()),
    ) {
        (Some(duty), Some(remedy)) => {
            let of =
                |kinds: &[Option<Kind>]| bill.disputed.iter().any(|one| kinds.contains(&one.kind));
            let disputed = of(&[None, Some(Kind::Value), Some(Kind::Duty)]);
            Burden::Bears {
                duty,
                remedy,
                disputed,
                remedy_disputed: of(&[Some(Kind::Remedy)]),
            }
        }
        _ => Burden::Unknown,
    }
}

fn covered(landed: &Landed) -> Coverage {
    let steps = || landed.bills.iter().flat_map(|bill| &bill.trail);
    // Without a line there are no digits to tell.
    let commodity = landed
        .bills
        .iter()
        .flat_map(|bill| &bill.lines)
        .map(|line| line.commodity.clone())
        .next()
        .unwrap_or_default();
    if landed.bills.iter().any(|bill| !bill.gaps.is_empty()) {
        let wanting =
            steps().filter(|step| step.kind == "duty" && step.amount.is_none() && step.owed);
        let why = wanting
            .filter_map(|step| Some(format!("`{}` ({})", step.id, step.row.as_ref()?)))
            .collect();
        return Coverage {
            known: Known::Gap,
            commodity,
            why,
        };
    }
    let looked_at = |step: &&Step| {
        matches!(step.kind, "duty" | "remedy" | "tax" | "sale-tax") || step.id == "freight.border"
    };
    let acting = steps()
        .filter(|step| step.amount.is_some())
        .filter(looked_at);
    let recalled = acting.filter(|step| step.evidence == Some(Evidence::Recalled));
    let why: Vec<String> = recalled
        .filter_map(|step| {
            step.rate_rows
                .first()
                .or(step.row.as_ref())
                .map(ToString::to_string)
        })
        .collect();
    Coverage {
        known: if why.is_empty() {
            Known::Read
        } else {
            Known::Recalled
        },
        commodity,
        why,
    }
}
