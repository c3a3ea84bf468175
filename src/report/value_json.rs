//! `compare` and `rank` as JSON: lasting shapes of their own; money as strings with the currency's minor units, masses as
//! strings of grams. A ratio that means nothing is null.

use serde_json::{Value, json};

use super::cost_json::cautions;
use super::show::Show;
use crate::compare::{Against, Comparison};
use crate::landed::Ask;
use crate::rank::{Ranked, Ranking, Unranked};
use crate::units::{Grams, Overflow};
use crate::value::Status;

/// The names of these shapes.
const COMPARE: &str = "landwaiter.compare/1";
const RANK: &str = "landwaiter.rank/1";

/// A comparison as JSON; `tables` says which tables were used and how old they are.
pub fn compare_json(comparison: &Comparison, ask: &Ask, show: &Show, tables: &Value) -> Result<Value, Overflow> {
    let mine = &comparison.mine;
    let bikes = comparison.bikes.iter().map(|against| bike(against, show)).collect::<Result<Vec<_>, _>>()?;
    let left_out: Vec<Value> = comparison.left_out.iter().map(|left| json!({"bike": left.bike, "reason": left.reason})).collect();
    Ok(json!({
        "format": COMPARE,
        "destination": ask.to.to_string(),
        "currency": show.currency.to_string(),
        "date": ask.date.to_string(),
        "tables": tables,
        "basis": comparison.basis.name(),
        "compared": "replacement",
        "build": {
            "replacement": show.exact(mine.replacement),
            "replacement_unknown": mine.replacement_unknown,
            "spent": show.exact(mine.spent),
            "to_pay": show.exact(mine.to_pay),
            "mass_g": mine.mass.to_string(),
            "mass_unknown": mine.mass_unknown,
            "empty": mine.empty,
            "missing_g": range(mine.missing),
            "tools_left_out": mine.tools_left_out,
            "frontier": mine.status.standing.letters(),
        },
        "bikes": bikes,
        "left_out": left_out,
        "cautions": cautions(&comparison.cautions),
    }))
}

fn bike(against: &Against, show: &Show) -> Result<Value, Overflow> {
    let (bike, difference) = (&against.reference, &against.difference);
    let mass = bike.mass.mass;
    let steps = bike.mass.steps.iter().map(|step| {
        let grams = step.grams;
        json!({
            "text": step.text, "place": step.place, "own": step.own, "row": step.row.to_string(),
            "low_g": grams.low.to_string(), "likely_g": grams.likely.to_string(), "high_g": grams.high.to_string(),
        })
    });
    Ok(json!({
        "bike": bike.name,
        "price": show.exact(bike.price),
        "price_kind": bike.price_kind.name(),
        "imported": bike.imported,
        "seen": bike.seen.map(|day| day.to_string()),
        "size": bike.size,
        "class": bike.class,
        "season": bike.season,
        "told_g": bike.told.to_string(),
        "told_basis": bike.told_basis.name(),
        "mass_g": mass.likely.to_string(),
        "mass_range_g": range((mass.low, mass.high)),
        "steps": steps.collect::<Vec<_>>(),
        "dC": show.exact(difference.cost),
        "dM": difference.saved.to_string(),
        "dM_range": range(against.saved),
        "per_kg": difference.per_kg()?.map(|ratio| show.exact(ratio)),
        "saved_per_kg_given_up": difference.per_kg_given_up()?.map(|ratio| show.exact(ratio)),
        "quadrant": difference.quadrant().name(),
        "words": difference.words(|amount| show.money(amount))?,
        "frontier": frontier(&against.status),
        "row": bike.row,
    }))
}

fn frontier(status: &Status) -> &'static str {
    status.standing.letters()
}

fn range((low, high): (Grams, Grams)) -> Value {
    json!([low.to_string(), high.to_string()])
}

/// A ranking as JSON, in its order; `tables` says which tables were used and how old they are.
pub fn rank_json(ranking: &Ranking, ask: &Ask, show: &Show, tables: &Value) -> Result<Value, Overflow> {
    let options = ranking.options.iter().enumerate().map(|(at, option)| ranked(at + 1, option, show)).collect::<Result<Vec<_>, _>>()?;
    Ok(json!({
        "format": RANK,
        "destination": ask.to.to_string(),
        "currency": show.currency.to_string(),
        "date": ask.date.to_string(),
        "tables": tables,
        "landed": show.exact(ranking.landed),
        "worth_per_kg": ranking.worth_per_kg.map(|worth| show.exact(worth)),
        "options": options,
        "not_fitting": unranked(&ranking.unfit),
        "left_out": unranked(&ranking.left_out),
        "cautions": cautions(&ranking.cautions),
    }))
}

fn unranked(all: &[Unranked]) -> Vec<Value> {
    all.iter().map(|one| json!({"part": one.part, "seller": one.seller, "reason": one.reason})).collect()
}

fn ranked(rank: usize, option: &Ranked, show: &Show) -> Result<Value, Overflow> {
    let difference = &option.difference;
    Ok(json!({
        "rank": rank,
        "part": option.part,
        "seller": option.seller,
        "offer": option.offer,
        "with": option.with,
        "needs": option.needs,
        "bundled": option.bundled,
        "replaces": option.replaces,
        "gone": option.gone,
        "alone": show.exact(option.alone),
        "together": show.exact(option.together),
        "resale": show.exact(option.resale),
        "resale_unknown": option.resale_unknown,
        "dM": difference.saved.to_string(),
        "per_kg": difference.per_kg()?.map(|ratio| show.exact(ratio)),
        "g_per_unit": super::rank_view::grams_per_unit(difference, show)?.map(|ratio| ratio.fixed(3)),
        "saved_per_kg_given_up": difference.per_kg_given_up()?.map(|ratio| show.exact(ratio)),
        "quadrant": difference.quadrant().name(),
        "words": difference.words(|amount| show.money(amount))?,
        "net_benefit": option.net_benefit.map(|net| show.exact(net)),
        "beaten_by": option.beaten_by,
        "notes": option.notes,
        "row": option.row,
    }))
}
