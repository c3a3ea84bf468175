//! `leeway` as JSON: a lasting shape of its own.

use serde_json::{Value, json};

use super::cautions::cautions;
use super::leeway_view::{LeewayReport, range_text};
use super::show::Show;
use crate::leeway::{Against, Edge, Effect, Lever, MassRange, Outcomes, Range};
use crate::units::{Dec, Overflow};

/// How far one amount is above another, as both are shown.
fn exactly_apart(more: Dec, less: Dec, show: &Show) -> Result<String, Overflow> {
    Ok(show.as_it_is().exact(show.difference(more, less)?))
}

fn driver_json(effect: &Effect, show: &Show) -> Result<Value, Overflow> {
    let d = &effect.driver;
    let shape = match (&d.range, d.shape) {
        (Range::Seen(..), _) => "history",
        (Range::Either(_), _) => "either",
        (_, crate::estimate::Shape::Pert) => "pert",
        (_, crate::estimate::Shape::Triangular) => "triangular",
    };
    Ok(json!({
        "what": if d.name.is_empty() { d.about.name().to_owned() } else { format!("{}:{}", d.about.name(), d.shown()) },
        "low": d.low.to_string(),
        "likely": d.likely.to_string(),
        "high": d.high.to_string(),
        "relative": d.relative,
        "unit": d.unit.filter(|_| !d.relative).map(|unit| unit.to_string()),
        "chance": d.chance.map(|c| c.to_string()),
        "shape": shape,
        "range": range_text(d),
        "total_low": show.exact(effect.at_low),
        "total_high": show.exact(effect.at_high),
        "effect": exactly_apart(effect.at_high, effect.at_low, show)?,
        "share": effect.share.map(|share| share.fixed(1)),
    }))
}

fn edge_json(edge: &Edge, show: &Show) -> Value {
    let levers = edge.levers.iter().map(|(lever, now, even)| {
        let money = |amount: Dec| {
            if matches!(lever, Lever::Exchange(_)) {
                amount.fixed(6)
            } else {
                show.exact(amount)
            }
        };
        let what = match lever {
            Lever::Exchange(currency) => format!("exchange:{currency}"),
            Lever::Freight => "freight".to_owned(),
            Lever::Charges => "charges".to_owned(),
        };
        json!({"what": what, "now": money(*now), "break_even": even.map(money)})
    });
    let (kind, name, seller) = match &edge.against {
        Against::Bike(bike) => ("bike", bike, None),
        Against::Offer(part, seller) => ("offer", part, Some(seller)),
    };
    json!({"against": kind, "name": name, "seller": seller, "margin": show.exact(edge.margin), "levers": levers.collect::<Vec<_>>()})
}

fn mass_json(mass: &MassRange) -> Value {
    json!({
        "basis": mass.basis.name(),
        "stated_g": mass.stated.to_string(),
        "parts_g": mass.parts.to_string(),
        "low_g": mass.low.to_string(),
        "middle_g": mass.middle.to_string(),
        "high_g": mass.high.to_string(),
        "within": mass.within.map(|share| share.to_string()),
    })
}

fn outcomes_json(found: &Outcomes, spent: Dec, show: &Show) -> Result<Value, Overflow> {
    let quantiles: serde_json::Map<String, Value> = found
        .quantiles
        .iter()
        .map(|(share, amount)| (share.to_string(), json!(show.exact(*amount))))
        .collect();
    Ok(json!({
        "cost": show.exact(found.cost),
        "likely": show.exact(found.likely),
        "quantiles": quantiles,
        "assurance": {
            "percent": found.assured.0.to_string(),
            "total": show.exact(found.assured.1),
            "set_aside": exactly_apart(found.assured.1, spent, show)?,
        },
        "within_budget": found.within_budget.map(|share| share.to_string()),
    }))
}

/// The leeway as JSON.
pub(crate) fn leeway_json(
    report: &LeewayReport<'_>,
    show: &Show,
    date: &str,
    destination: &str,
    tables: Value,
) -> Result<Value, Overflow> {
    let leeway = report.leeway;
    let quantiles: serde_json::Map<String, Value> = leeway
        .quantiles
        .iter()
        .map(|(share, amount)| (share.to_string(), json!(show.exact(*amount))))
        .collect();
    let drivers = leeway
        .effects
        .iter()
        .map(|effect| driver_json(effect, show));
    let asked = leeway
        .asked
        .iter()
        .map(|a| json!({"what": a.id, "chance": a.chance.to_string(), "asked": show.exact(a.asked), "not_asked": show.exact(a.not_asked)}));
    Ok(json!({
        "format": "landwaiter.leeway/1",
        "destination": destination,
        "currency": show.currency.to_string(),
        "date": date,
        "tables": tables,
        "cost": show.exact(leeway.cost),
        "likely": show.exact(leeway.likely),
        "spent": show.exact(leeway.spent),
        "all_low": show.exact(leeway.all_low),
        "all_high": show.exact(leeway.all_high),
        "quantiles": quantiles,
        "assurance": {
            "percent": leeway.assured.0.to_string(),
            "total": show.exact(leeway.assured.1),
            "set_aside": exactly_apart(leeway.assured.1, leeway.spent, show)?,
        },
        "budget": report.budget.map(|b| show.exact(b)),
        "within_budget": leeway.within_budget.map(|share| share.to_string()),
        "disputed_counted": leeway.disputed_counted,
        "undisputed": leeway.undisputed.as_ref().map(|other| outcomes_json(other, leeway.spent, show)).transpose()?,
        "with_disputed": leeway.with_disputed.as_ref().map(|other| outcomes_json(other, leeway.spent, show)).transpose()?,
        "disputed_chance": leeway.disputed_chance.map(|chance| chance.to_string()),
        "drivers": drivers.collect::<Result<Vec<_>, Overflow>>()?,
        "asked": asked.collect::<Vec<_>>(),
        "mass": report.mass.map(mass_json),
        "scale": report.scale.map(super::scale_json::scale_json),
        "not_held": report.break_even.not_held.iter().map(|(bike, why)| json!({"bike": bike, "reason": why})).collect::<Vec<_>>(),
        "tools_left_out": report.break_even.tools_left_out,
        "break_even": report.break_even.edges.iter().map(|edge| edge_json(edge, show)).collect::<Vec<_>>(),
        "method": leeway.checked.map(|c| json!({
            "name": "convolution",
            "step": show.exact(c.step),
            "checked_at": c.draws,
            "seed": c.seed,
            "mean_error": show.exact(c.mean),
            "largest_error": show.exact(c.largest),
        })),
        "open": leeway.open,
        "paid_unknown": leeway.paid_unknown,
        "cautions": cautions(&leeway.cautions),
    }))
}
