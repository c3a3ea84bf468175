//! What is always said of a whole build where it applies: the cautions that hang on no single charge.

use super::bill::Bill;
use super::caution::{Caution, Cautions, Saying};
use super::deposit::{balances, paid_to_seller};
use super::jurisdiction::Jurisdiction;
use super::parcel::ConsignmentState;
use crate::book::{Part, Standing};
use crate::units::{Date, HomeMoney, Overflow};

/// A price seen longer ago than this is said.
pub(crate) const OLD_PRICE: i64 = 45;

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
        "Estimate, not a ruling: customs and the carrier decide",
        &[],
    );
    if bills
        .iter()
        .any(|b| !jurisdiction.is_home(b.dispatch.code()))
    {
        cautions.say(
            "declare",
            "Declare the true price; never ask for a lower one or for \"gift\", and never split an order to stay under a limit",
            &[],
        );
        cautions.say(
            "scams",
            "At the door, pay only through the carrier's own site",
            &[],
        );
    }
    let unproven = unproven(rows, day);
    if !unproven.is_empty() {
        let saying = Saying::new("No test report is on file")
            .so("Ask for the ISO 4210 part, laboratory and date, keep to the printed torque and weight limits, and have a qualified mechanic check brakes and steering.");
        cautions.say("evidence", saying, &unproven);
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
        let saying = Saying::new(format!("The price is more than {OLD_PRICE} days old"))
            .so("Check it again.")
            .costs_unknown();
        cautions.say("price-old", saying, &stale);
    }
    let fluids = |part: &&&Part| part.fits.contains_key("brake_fluid");
    if rows.iter().any(|row| fluids(&row)) {
        let saying =
            Saying::new("Mineral oil and DOT fluid need different seals").so("Never mix them.");
        cautions.say("fluids", saying, &[]);
    }
}

/// Bought parts of carbon, and parts that steer, brake or carry the rider, for which no test report is noted.
fn unproven<'a>(rows: &[&'a Part], day: Date) -> Vec<&'a str> {
    let carbon = |row: &Part| row.traits.get("material").is_some_and(|m| m == "carbon");
    let critical = |row: &Part| row.places.iter().any(|p| CRITICAL.contains(&p.as_str()));
    let untested = |row: &Part| !crate::book::is_report(&row.evidence, day);
    let asked = |row: &&Part| row.seller.is_some() && (critical(row) || carbon(row));
    let unproven = rows
        .iter()
        .copied()
        .filter(|row| asked(row) && untested(row));
    unproven.map(|row| row.name.as_str()).collect()
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
                "{} of {} is paid, and the balance is counted as still to pay",
                money(paid),
                money(paid.plus(left)?)
            );
            if bill.deposit.is_none() {
                let saying = Saying::new(text)
                    .so("If nothing more is asked, add a `goods` receipt with what the goods cost.")
                    .costs(left);
                cautions.say("balance-to-pay", saying, &[&part]);
            }
            reckoned = reckoned.minus(left)?;
        }
        if paid != reckoned && !bill.seller_told {
            let text = format!(
                "You paid {} where {} was estimated: `Already paid` counts the first, the landed cost the second",
                money(paid),
                money(reckoned)
            );
            let saying = Saying::new(text)
                .so("Once the bill is here, add its receipts.")
                .costs(paid.minus(reckoned)?);
            cautions.say("paid-otherwise", saying, &[&bill.id]);
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
            let saying = Saying::new(said.text).so(said.action);
            cautions.say(said.id, saying, &[&bill.id]);
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
        let said = |id, text: String| {
            let saying = Saying::new(text).so("Look up what was due, or what is due now.");
            Some(saying.costs_unknown().caution(id))
        };
        if let Some(first) = first.filter(|first| arrival < *first) {
            let text = format!(
                "The rules begin on {first}; for earlier days nothing is counted, though charges were due"
            );
            return said("before-tables", text);
        }
        let read = read.filter(|read| arrival.days_since(*read) > 366)?;
        said(
            "after-tables",
            format!(
                "The rates were last checked on {read}, more than a year before the arrival, and may have changed"
            ),
        )
    }
}
