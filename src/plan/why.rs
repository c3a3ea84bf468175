//! Why a dearer part was taken, and which limits were crossed.

use super::book::Compiled;
use super::pool::parcel_of;
use crate::book::{Part, Standing};
use crate::landed::{Bill, Landed};
use crate::text::Problems;
use crate::units::{Dec, HomeMoney, Overflow};

/// Why an offer was taken though another of the same place has a lower price tag.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Why {
    /// What was taken, and from whom.
    pub(crate) taken: (String, String),
    /// What has the lower price tag, and from whom.
    pub(crate) cheaper: (String, String),
    /// By how much its price tag is lower.
    pub(crate) tag: Dec,
    /// By how much the whole build would land at more with it.
    pub(crate) landed: Dec,
    /// What would change: the parcel, the charge, by how much.
    pub(crate) effects: Vec<(String, &'static str, Dec)>,
}

/// A limit that a parcel of the plan crosses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Crossed {
    /// The parcel.
    pub(crate) parcel: String,
    /// The limit's id.
    pub(crate) limit: String,
    /// By how much.
    pub(crate) by: Dec,
}

pub(super) fn who(row: &Part) -> (String, String) {
    (row.name.clone(), row.seller.clone().unwrap_or_default())
}

/// For each offer taken: another of the same seats with a lower price tag that keeps the mass, and what it would do.
pub(super) fn whys(
    compiled: &Compiled<'_>,
    offers: &[u32],
    landed: &Landed,
) -> Result<Vec<Why>, Problems> {
    let mut found = Vec::new();
    let total = landed.totals.landed()?;
    for taken in offers {
        let (mine, own) = (
            &compiled.model.offers[*taken as usize],
            &compiled.pool.bids[*taken as usize],
        );
        let rival = |o: &u32| {
            let other = &compiled.model.offers[*o as usize];
            let row = compiled.pool.bids[*o as usize].row;
            let buys = row.standing == Standing::ToOrder && own.row.standing == Standing::ToOrder;
            buys && other.places == mine.places
                && other.goods < mine.goods
                && other.mass <= mine.mass
        };
        let all = (0..compiled.model.offers.len() as u32).filter(|o| *o != *taken && rival(o));
        let Some(other) = all.min_by_key(|o| (compiled.model.offers[*o as usize].goods, *o)) else {
            continue;
        };
        let swapped: Vec<u32> = offers
            .iter()
            .map(|o| if o == taken { other } else { *o })
            .collect();
        if !compiled.model.holds(&swapped) {
            continue;
        }
        // The sums alone, without the doubts beside them; what is held is the same.
        let Ok(after) = compiled.bills(&compiled.plan_rows(&swapped)) else {
            continue;
        };
        let own_sums = after
            .iter()
            .map(|bill| bill.amounts.landed())
            .collect::<Result<Vec<_>, _>>()?;
        let more = HomeMoney::total(own_sums.into_iter().chain([landed.totals.held]))
            .and_then(|sum| sum.minus(total))?
            .amount();
        if more.is_negative() {
            continue;
        }
        let row = compiled.pool.bids[other as usize].row;
        let tag = compiled.amount(mine.goods - compiled.model.offers[other as usize].goods);
        let parcels = [parcel_of(own.row), parcel_of(row)];
        let effects = effects(&landed.bills, &after, &parcels)?;
        found.push(Why {
            taken: who(own.row),
            cheaper: who(row),
            tag,
            landed: more,
            effects,
        });
    }
    Ok(found)
}

/// Charges beside the goods that would change, the largest first.
fn effects(
    before: &[Bill],
    after: &[Bill],
    parcels: &[String],
) -> Result<Vec<(String, &'static str, Dec)>, Overflow> {
    let mut found = Vec::new();
    let mut seen: Vec<&String> = parcels.iter().collect();
    seen.sort();
    seen.dedup();
    for parcel in seen {
        let of = |bills: &[Bill]| {
            bills
                .iter()
                .find(|b| b.id == *parcel)
                .map(|b| b.amounts)
                .unwrap_or_default()
        };
        let (a, b) = (of(before), of(after));
        let pairs = [
            ("discount", b.discount, a.discount),
            ("freight", a.freight, b.freight),
            ("insurance", a.insurance, b.insurance),
            ("duty", a.duty, b.duty),
            ("anti-dumping", a.remedy, b.remedy),
            ("tax", a.tax()?, b.tax()?),
            ("carrier's fee", a.handling, b.handling),
            ("card fee", a.card_fee, b.card_fee),
        ];
        for (name, old, new) in pairs {
            let more = new.minus(old)?;
            if !more.is_zero() {
                found.push((parcel.clone(), name, more.amount()));
            }
        }
    }
    found.sort_by(|a, b| {
        b.2.abs()
            .cmp(&a.2.abs())
            .then(a.0.cmp(&b.0))
            .then(a.1.cmp(b.1))
    });
    Ok(found)
}

pub(super) fn crossed(landed: &Landed) -> Vec<Crossed> {
    let over = |bill: &Bill| {
        let id = bill.id.clone();
        let limits = bill.limits.iter().filter(|l| l.left.is_negative());
        limits
            .map(|l| Crossed {
                parcel: id.clone(),
                limit: l.id.clone(),
                by: l.left.abs().amount(),
            })
            .collect::<Vec<_>>()
    };
    landed.bills.iter().flat_map(over).collect()
}
