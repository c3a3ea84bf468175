//! `cost` as JSON: a lasting shape of its own; amounts are strings with the currency's minor units, masses strings of grams.

use serde::Serialize;
use serde_json::Value;

use super::cautions::cautions;
use super::show::Show;
use super::shown::{ShownBill, ShownLanded, ShownSums, shown};
use super::trail_view::steps_json;
use crate::landed::{Landed, Question};
use crate::units::{Grams, HomeMoney, Overflow, ShownMoney};
use crate::value::scale::OnScale;

/// The name of this shape.
const FORMAT: &str = "landwaiter.cost/1";

#[derive(Serialize)]
struct Envelope {
    format: &'static str,
    destination: String,
    currency: String,
    date: String,
    tables: Value,
    consignments: Vec<Value>,
    held: Vec<Value>,
    totals: Value,
    scale: Option<Value>,
    open: Vec<String>,
    cautions: Vec<Value>,
}

/// The sums of all parcels and what is held, with the masses beside them.
fn totals(
    landed: &ShownLanded<'_>,
    ask: &Question,
    (show, budget): (&Show, Option<ShownMoney>),
    scale: Option<&OnScale>,
) -> Result<Value, Overflow> {
    let (t, home) = (&landed.totals, landed.totals.home);
    let mut totals = amounts(&t.amounts, show)?;
    extend(
        &mut totals,
        serde_json::json!({
            "price_tags": show.exact(t.tags),
            "landed_undisputed": show.exact(t.landed_undisputed),
            "landed_with_disputed": show.exact(t.landed_with_disputed),
            "to_pay_seller": show.exact(t.to_pay_seller),
            "to_pay_carrier": show.exact(t.to_pay_carrier),
            "spent": show.exact(t.spent),
            "to_pay": show.exact(t.to_pay),
            "replacement": show.exact(t.replacement),
            "replacement_unknown": home.replacement_unknown,
            "paid_unknown": home.paid_unknown,
            "mass_g": scale.map_or(home.mass, OnScale::likely).to_string(),
            "parts_g": scale.map_or(home.mass, |scale| scale.sum).to_string(),
            "weighed_g": scale.map_or(home.weighed, |scale| scale.likely().min(scale.read)).to_string(),
            "basis": ask.basis.name(),
            "rider_g": home.rider.map(|[_, likely, _]| likely.to_string()),
            "mass_unknown": home.mass_unknown,
            "not_counted": home.aside.parts,
            "not_counted_g": home.aside.mass.to_string(),
            "budget": budget.map(|b| show.exact(b)),
            "max_mass_g": ask.max_mass.map(|m| m.to_string()),
        }),
    );
    Ok(totals)
}

/// The landed cost as JSON; `tables` says which tables were used and how old they are. What the scale said of the whole bike
/// goes before what its parts add up to.
pub fn cost_json(
    landed: &Landed,
    ask: &Question,
    show: &Show,
    tables: Value,
    (trail, scale): (bool, Option<&OnScale>),
) -> Result<Value, Overflow> {
    let budget = ask.budget.map(|budget| show.shown(HomeMoney::of(budget)));
    let budget = budget.transpose()?;
    let shown = shown(landed, show)?;
    let totals = totals(&shown, ask, (show, budget), scale)?;
    let held = shown.held.iter().map(|h| {
        let home = h.home;
        serde_json::json!({"part": home.part, "places": home.places, "quantity": home.quantity, "paid": h.paid.map(|p| show.exact(p)), "sent_back": show.exact(h.sent_back), "refunded": show.exact(h.refunded), "given": home.given, "row": home.row})
    });
    let envelope = Envelope {
        format: FORMAT,
        destination: destination(landed),
        currency: show.currency.to_string(),
        date: landed.date.to_string(),
        tables,
        consignments: shown
            .bills
            .iter()
            .map(|bill| consignment(bill, show, trail))
            .collect::<Result<_, _>>()?,
        held: held.collect(),
        totals,
        scale: scale.map(super::scale_json::scale_json),
        open: landed.open.clone(),
        cautions: cautions(&landed.cautions),
    };
    Ok(serde_json::to_value(envelope).unwrap_or(Value::Null))
}

fn destination(landed: &Landed) -> String {
    if landed.region.is_empty() {
        landed.to.to_string()
    } else {
        format!("{}-{}", landed.to, landed.region)
    }
}

/// The sums that lines, consignments and totals share.
pub(super) fn amounts(a: &ShownSums, show: &Show) -> Result<Value, Overflow> {
    Ok(serde_json::json!({
        "goods": show.exact(a.goods),
        "discount": show.exact(a.discount),
        "freight": show.exact(a.freight),
        "insurance": show.exact(a.insurance),
        "duty": show.exact(a.duty),
        "remedy": show.exact(a.remedy),
        "tax": show.exact(a.tax()?),
        "tax_at_sale": show.exact(a.tax_at_sale),
        "tax_at_border": show.exact(a.tax_at_border),
        "handling": show.exact(a.handling),
        "card_fee": show.exact(a.card_fee),
        "landed": show.exact(a.landed()?),
    }))
}

/// Adds the members of one object to another.
fn extend(value: &mut Value, more: Value) {
    if let (Value::Object(own), Value::Object(more)) = (value, more) {
        own.extend(more);
    }
}

fn consignment(shown: &ShownBill<'_>, show: &Show, trail: bool) -> Result<Value, Overflow> {
    let bill = shown.home;
    let lines = shown.lines.iter().map(|line| {
        let mut value = amounts(&line.amounts, show)?;
        let line = line.home;
        extend(
            &mut value,
            serde_json::json!({"part": line.part, "places": line.places, "quantity": line.quantity, "commodity": line.commodity, "origin": line.origin, "row": line.row}),
        );
        Ok(value)
    });
    let limits = shown.limits.iter().map(|l| {
        serde_json::json!({"id": l.id, "amount": show.exact(l.amount), "value": show.exact(l.value), "left": show.exact(l.left), "holds": l.holds})
    });
    let disputed = bill
        .disputed
        .iter()
        .map(|d| serde_json::json!({"id": d.id, "row": d.row.to_string(), "source": d.source, "name": d.dispute.as_ref().map(|one| one.name.clone()), "dispute": d.said()}));
    let ended = bill.ended.iter().map(|one| {
        serde_json::json!({"id": one.id, "kind": one.kind, "ended": one.on.to_string(), "row": one.row.to_string(), "parts": one.parts})
    });
    let mut value = serde_json::json!({
        "id": bill.id,
        "seller": bill.seller,
        "dispatch": bill.dispatch.to_string(),
        "channel": bill.channel.name(),
        "ordered": bill.ordered.to_string(),
        "arrival": bill.arrival.to_string(),
        "mass_g": Grams(bill.mass.0).to_string(),
        "paid_in": bill.paid_in.to_string(),
        "paid": bill.seller_sum.amount().fixed(bill.paid_in.digits()),
        "intrinsic_value": show.exact(shown.intrinsic_value),
        "customs_value": show.exact(shown.customs_value),
        "tax_collected": bill.tax_collected,
        "landed_undisputed": show.exact(shown.landed_undisputed),
        "landed_with_disputed": show.exact(shown.landed_with_disputed),
        "disputed": disputed.collect::<Vec<_>>(),
        "limits": limits.collect::<Vec<_>>(),
        "gaps": bill.gaps,
        "ended": ended.collect::<Vec<_>>(),
        "lines": lines.collect::<Result<Vec<_>, Overflow>>()?,
    });
    extend(&mut value, amounts(&shown.amounts, show)?);
    if shown.in_price != ShownSums::default() {
        extend(
            &mut value,
            serde_json::json!({"in_price": amounts(&shown.in_price, show)?}),
        );
    }
    if let Some((as_what, landed)) = &shown.otherwise {
        extend(
            &mut value,
            serde_json::json!({"otherwise": {"as": as_what, "landed": show.exact(*landed)}}),
        );
    }
    if trail {
        extend(&mut value, serde_json::json!({"trail": steps_json(bill)}));
    }
    Ok(value)
}
