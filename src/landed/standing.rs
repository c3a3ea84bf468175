//! What is always said of a whole build where it applies: the cautions that hang on no single charge.

use super::bill::Bill;
use super::caution::{Caution, Cautions};
use super::deposit::{balances, paid_to_seller};
use super::jurisdiction::Jurisdiction;
use super::parcel::ConsignmentState;
use crate::book::{Part, Standing};
use crate::units::{Date, HomeMoney, Overflow};

/// A price seen longer ago than this is said.
const OLD_PRICE: i64 = 45;

/// Places of parts that steer, brake or carry the rider.
const CRITICAL: [&str; 8] = [
    "frame",
    "fork",
    "handlebar",
    "stem",
    "seatpost",
    "wheels",
    "calipers",
    "brakes",
];

/// What is always said where it applies.
pub(super) fn standing_cautions(
    rows: &[&Part],
    bills: &[Bill],
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    let day = jurisdiction.ask.date;
    cautions.say(
        "estimate",
        "an estimate, not a ruling: customs and the carrier decide",
        &[],
    );
    if bills
        .iter()
        .any(|b| !jurisdiction.is_home(b.dispatch.code()))
    {
        cautions.say(
            "declare",
            "declare the true price; never ask a seller for a lower one or for \"gift\"; do not split an order to stay under a limit",
            &[],
        );
        cautions.say(
            "scams",
            "pay charges only through the carrier's own site",
            &[],
        );
    }
    let unproven = unproven(rows, day);
    if !unproven.is_empty() {
        let text = "no test report is noted: ask for part, lab and date (ISO 4210), keep to printed torque and mass limits, and have brakes and steering checked by a qualified mechanic";
        cautions.say("evidence", text, &unproven);
    }
    let stale = |row: &&&Part| {
        row.standing == Standing::ToOrder
            && row
                .seen
                .is_some_and(|seen| day.days_since(seen) > OLD_PRICE)
    };
    let stale: Vec<&str> = rows
        .iter()
        .filter(stale)
        .map(|row| row.name.as_str())
        .collect();
    if !stale.is_empty() {
        cautions.say(
            "price-old",
            format!("the price was seen more than {OLD_PRICE} days before ordering: look again"),
            &stale,
        );
    }
    let fluids = |part: &&&Part| part.fits.contains_key("brake_fluid");
    if rows.iter().any(|row| fluids(&row)) {
        cautions.say(
            "fluids",
            "brake fluids do not mix: mineral oil and DOT are for different seals",
            &[],
        );
    }
}

/// Bought parts of carbon, and parts that steer, brake or carry the rider, for which no test report is noted.
fn unproven<'a>(rows: &[&'a Part], day: Date) -> Vec<&'a str> {
    let carbon = |row: &Part| row.traits.get("material").is_some_and(|m| m == "carbon");
    let critical = |row: &Part| row.places.iter().any(|p| CRITICAL.contains(&p.as_str()));
    rows.iter()
        .filter(|row| {
            !crate::book::is_report(&row.evidence, day)
                && row.seller.is_some()
                && (critical(row) || carbon(row))
        })
        .map(|row| row.name.as_str())
        .collect()
}

/// Where the rows of a parcel on its way say that something else was paid than is calculated, what is spent and what is still
/// to pay do not add up to the landed cost; both sums are said.
pub(super) fn paid_otherwise(
    bills: &[Bill],
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) -> Result<(), Overflow> {
    let money = |amount: HomeMoney| jurisdiction.money(amount);
    for bill in bills
        .iter()
        .filter(|b| matches!(b.kind, ConsignmentState::OnOrder | ConsignmentState::Gift))
    {
        let mut reckoned = bill.amounts.to_seller()?;
        let paid = paid_to_seller(bill, rows)?;
        for (part, paid, left) in balances(bill, rows)? {
            let text = format!(
                "{} of {} is paid: the balance of {} is counted as still to pay; where nothing more is asked, say what the goods cost by a `goods` receipt",
                money(paid),
                money(paid.plus(left)?),
                money(left)
            );
            if bill.deposit.is_none() {
                cautions.say("balance-to-pay", text, &[&part]);
            }
            reckoned = reckoned.minus(left)?;
        }
        if paid != reckoned && !bill.seller_told {
            let text = format!(
                "{} was paid where {} is reckoned: the first is in what is spent, the second in the landed cost",
                money(paid),
                money(reckoned)
            );
            cautions.say("paid-otherwise", text, &[&bill.id]);
        }
    }
    Ok(())
}

/// A day before the tables begin or after they were last read is said.
pub(super) fn outside_tables(
    jurisdiction: &Jurisdiction<'_>,
    bills: &[Bill],
    cautions: &mut Cautions,
) {
    for bill in bills
        .iter()
        .filter(|b| !b.trail.is_empty() && !jurisdiction.is_home(b.dispatch.code()))
    {
        if let Some(said) = jurisdiction.outside_tables(bill.arrival) {
            cautions.say(said.id, said.text, &[&bill.id]);
        }
    }
}

impl Jurisdiction<'_> {
    /// What is to be said of a day of arrival before the tables begin or long after they were last read.
    pub(crate) fn outside_tables(&self, arrival: Date) -> Option<Caution> {
        let stamps = || {
            self.law
                .charges
                .iter()
                .map(|r| &r.stamp)
                .filter(|s| s.counts())
        };
        let (first, read) = (
            stamps().filter_map(|s| s.span.from).min(),
            stamps().filter_map(|s| s.checked).max(),
        );
        let said = |id, text| {
            Some(Caution {
                id,
                text,
                about: Vec::new(),
            })
        };
        if let Some(first) = first.filter(|first| arrival < *first) {
            let text = format!(
                "the tables begin on {first}: before that nothing is charged here, which is not what was due"
            );
            return said("before-tables", text);
        }
        let read = read.filter(|read| arrival.days_since(*read) > 366)?;
        said(
            "after-tables",
            format!(
                "the tables were last read on {read}, more than a year before the arrival: rates may have changed"
            ),
        )
    }
}
