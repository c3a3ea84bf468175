//! A seller's freight table as it stands in the tables, for whoever keeps its figures open.

use super::jurisdiction::Jurisdiction;
use super::parcel::Consignment;
use super::price::Offer;
use crate::book::Freight;
use crate::rules::{MassStep, Origin, Steps};
use crate::tables::{Dated, FreightStep};
use crate::units::{Dec, Overflow};

/// The table that a consignment's freight is read from. None where its freight is no table, where the table is in another money
/// than the seller's, where the freight is supposed to be otherwise, or where the table has no price for the mass.
pub(super) fn steps_of(
    consignment: &Consignment<'_>,
    offer: &Offer<'_, '_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Steps>, Overflow> {
    let Freight::Schedule(name) = &consignment.freight else {
        return Ok(None);
    };
    let (from, channel) = (consignment.dispatch.code(), consignment.channel.name());
    let rows = jurisdiction.schedule_rows(name, from, channel, consignment.ordered);
    let sellers = rows.iter().all(|row| row.rule.currency == offer.currency);
    let supposed = !jurisdiction.what_if.freight.is_empty();
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else {
        return Ok(None);
    };
    if !sellers || supposed || offer.charged.is_err() {
        return Ok(None);
    }
    Ok(Some(Steps {
        extra_per_kg: last.rule.extra_per_kg,
        packing_percent: first.rule.packing_percent,
        packing_g: first.rule.packing_g,
        volumetric_divisor: first.rule.volumetric_divisor,
        volumes: volumes(consignment)?,
        rows: rows.iter().map(|row| step(row)).collect(),
    }))
}

fn step(row: &Dated<FreightStep>) -> MassStep {
    let own = &row.rule;
    let up_to = own
        .up_to_g
        .map_or_else(|| "any mass".to_owned(), |grams| format!("up to {grams} g"));
    MassStep {
        up_to: own.up_to_g,
        price: own.price,
        pro_rata: own.pro_rata,
        origin: Origin {
            place: row.stamp.row.to_string(),
            source: row.stamp.source.to_string(),
            id: format!("freight table {}, {up_to}", own.schedule),
        },
    }
}

/// Cubic centimetres of one piece of each row.
fn volumes(consignment: &Consignment<'_>) -> Result<Vec<Dec>, Overflow> {
    let one = |sides: Option<[Dec; 3]>| match sides {
        Some([a, b, c]) => a.times(b)?.times(c),
        None => Ok(Dec::ZERO),
    };
    let rows = consignment.rows.iter();
    rows.map(|row| one(row.box_cm)).collect()
}
