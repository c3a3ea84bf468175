//! `compare` and `rank` as JSON: lasting shapes of their own; money as strings with the currency's minor units, masses as
//! strings of grams. A ratio that means nothing is null.

use serde_json::{Value, json};

use super::cautions::cautions;
use super::difference::difference_words;
use super::scale_json::{range, scale_json};
use super::show::Show;
use crate::compare::{Against, Comparison, Market, Mine, Set};
use crate::estimate::Climb;
use crate::landed::{Question, disputed_rows};
use crate::rank::{Cure, Ladder, Ranked, Ranking, Stop, Unranked};
use crate::units::{Dec, Overflow};
use crate::value::Status;

/// The names of these shapes.
const COMPARE: &str = "landwaiter.compare/1";
const RANK: &str = "landwaiter.rank/1";

/// A comparison as JSON; `tables` says which tables were used and how old they are.
pub fn compare_json(
    comparison: &Comparison,
    ask: &Question,
    show: &Show,
    tables: &Value,
) -> Result<Value, Overflow> {
    let mine = &comparison.mine;
    let bikes = comparison
        .bikes
        .iter()
        .map(|against| bike(mine, against, show))
        .collect::<Result<Vec<_>, _>>()?;
    let left_out: Vec<Value> = comparison
        .left_out
        .iter()
        .map(|left| json!({"bike": left.bike, "reason": left.reason}))
        .collect();
    Ok(json!({
        "format": COMPARE,
        "destination": ask.to.to_string(),
        "currency": show.currency.to_string(),
        "date": ask.date.to_string(),
        "tables": tables,
        "basis": comparison.basis.name(),
        "compared": mine.compared.name(),
        "build": {
            "replacement": (!mine.has_no_price()).then(|| show.exact(mine.replacement)),
            "replacement_unknown": mine.replacement_unknown,
            "paid_instead": (!mine.by_paid.is_empty()).then(|| mine.cost.minus(mine.replacement)).transpose()?.map(|paid| show.exact(paid)),
            "whole": mine.is_whole(),
            "price_is_floor": mine.is_floor(),
            "cost": show.exact(mine.cost),
            "by_paid": mine.by_paid,
            "price_unknown": mine.price_unknown,
            "replacement_undisputed": mine.undisputed.map(|without| show.exact(without)),
            "replacement_with_disputed": mine.with_disputed.map(|with| show.exact(with)),
            "disputed": mine.disputed.as_ref().map(|(_, rows)| disputed_rows(rows)),
            "spent": show.exact(mine.spent),
            "to_pay": show.exact(mine.to_pay),
            "mass_g": mine.mass.to_string(),
            "scale": mine.scale.as_ref().map(scale_json),
            "weighed_g": mine.weighed.to_string(),
            "weighed_percent": mine.weighed_share()?.fixed(1),
            "mass_expected_g": mine.expected.map(|(mass, _)| mass.to_string()),
            "mass_deviation_g": mine.expected.map(|(_, deviation)| deviation.to_string()),
            "mass_unknown": mine.mass_unknown,
            "empty": mine.empty,
            "missing_g": range(mine.missing),
            "tools_left_out": mine.tools_left_out,
            "frontier": mine.is_judged().then(|| mine.status.standing.letters()),
        },
        "bikes": bikes,
        "left_out": left_out,
        "set": comparison.bikes.iter().map(|a| a.reference.name.as_str()).collect::<Vec<_>>(),
        "market": market(&comparison.market, mine.is_weighable(), show),
        "racing_minimum_g": comparison.racing_minimum.as_ref().map(|(_, least)| least.to_string()),
        "cautions": cautions(&comparison.cautions),
    }))
}

fn bike(mine: &Mine, against: &Against, show: &Show) -> Result<Value, Overflow> {
    // What is said of a bike with parts missing is no verdict.
    let judged = mine.is_judged();
    let (bike, difference) = (&against.reference, &against.difference);
    let mass = bike.mass.mass;
    let own = show.as_it_is();
    let cost = show.difference(mine.cost, bike.price)?;
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
        "dC": judged.then(|| own.exact(cost)),
        "dM": mine.is_weighable().then(|| difference.saved.to_string()),
        "cost_difference": judged.then(|| own.exact(cost)),
        "mass_saved_g": mine.is_weighable().then(|| difference.saved.to_string()),
        "dM_range": mine.is_weighable().then(|| range(against.saved)),
        "per_kg": difference.per_kg()?.filter(|_| judged).map(|ratio| show.exact(ratio)),
        "per_kg_range": against.per_kg_range()?.filter(|_| judged).map(|(low, high)| json!([show.exact(low), show.exact(high)])),
        "saved_per_kg_given_up": difference.per_kg_given_up()?.filter(|_| judged).map(|ratio| show.exact(ratio)),
        "quadrant": judged.then(|| difference.quadrant().name()),
        "words": if judged { Some(difference_words(difference, cost, show)?) } else { None },
        "to_finish_dC": if mine.is_to_finish() { Some(own.exact(show.difference(mine.to_pay, bike.price)?)) } else { None },
        "frontier": frontier(&against.status),
        "row": bike.row,
    }))
}

/// The market line; what it asks at a build's mass, and how far that is off it, only of a build that is whole.
fn market(market: &Market, whole: bool, show: &Show) -> Value {
    let set = |set: &Set| json!({"class": set.class, "season": set.season, "price_kinds": set.kinds, "bikes": set.bikes, "others": set.others});
    let residuals = |all: &[(String, Dec)]| -> Vec<Value> {
        all.iter()
            .map(|(bike, off)| json!({"bike": bike, "off_percent": off.fixed(1)}))
            .collect()
    };
    match market {
        Market::None(why) => json!({"drawn": false, "reason": why}),
        Market::Outside {
            set: bikes,
            masses,
            residuals: off,
            ..
        } => json!({
            "drawn": true, "outside": true, "set": set(bikes), "masses_g": range(*masses), "residuals": residuals(off),
        }),
        Market::Line(asked) => json!({
            "drawn": true,
            "outside": false,
            "set": set(&asked.set),
            "asks": whole.then(|| show.exact(asked.asks)),
            "band": whole.then(|| [show.exact(asked.band.0), show.exact(asked.band.1)]),
            "off_percent": whole.then(|| asked.off.fixed(1)),
            "next_kg": whole.then(|| show.exact(asked.next_kilogram)),
            "explained_percent": asked.explained.fixed(0),
            "residuals": residuals(&asked.residuals),
        }),
    }
}

fn frontier(status: &Status) -> &'static str {
    status.standing.letters()
}

/// A ranking as JSON, in its order; `tables` says which tables were used and how old they are.
pub fn rank_json(
    ranking: &Ranking,
    ask: &Question,
    show: &Show,
    tables: &Value,
) -> Result<Value, Overflow> {
    let options = ranking
        .options
        .iter()
        .enumerate()
        .map(|(at, option)| ranked(at + 1, ranking, option, show))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(json!({
        "format": RANK,
        "destination": ask.to.to_string(),
        "currency": show.currency.to_string(),
        "date": ask.date.to_string(),
        "tables": tables,
        "landed": show.exact(ranking.landed),
        "spent": show.exact(ranking.spent),
        "to_pay": show.exact(ranking.to_pay),
        "replacement": ranking.replacement.map(|value| show.exact(value)),
        "mass_g": ranking.mass.to_string(),
        "basis": ask.basis.name(),
        "scale": ranking.scale.as_ref().map(scale_json),
        "whole": ranking.empty.is_empty(),
        "empty": ranking.empty,
        "worth_per_kg": ranking.worth_per_kg.map(|worth| show.exact(worth)),
        "options": options,
        "ladder": ladder(&ranking.ladder, show)?,
        "climb": ranking.climb.iter().map(climb).collect::<Vec<_>>(),
        "not_fitting": unranked(&ranking.unfit),
        "left_out": unranked(&ranking.left_out),
        "cautions": cautions(&ranking.cautions),
    }))
}

fn ladder(ladder: &Ladder, show: &Show) -> Result<Value, Overflow> {
    let steps = ladder.rungs.iter().map(|rung| {
        let difference = &rung.option.difference;
        Ok(json!({
            "part": rung.option.part,
            "seller": rung.option.seller,
            "title": rung.option.title(),
            "dC": show.as_it_is().exact(show.difference(rung.total, rung.total.minus(difference.cost)?)?),
            "dM": difference.saved.to_string(),
            "cost_difference": show.as_it_is().exact(show.difference(rung.total, rung.total.minus(difference.cost)?)?),
            "mass_saved_g": difference.saved.to_string(),
            "per_kg": difference.per_kg()?.map(|ratio| show.exact(ratio)),
            "quadrant": difference.quadrant().name(),
            "chance": rung.option.chance.map(|chance| chance.fixed(1)),
            "total": show.exact(rung.total),
            "mass_g": rung.mass.to_string(),
            "passed_over": rung.passed_over,
        }))
    });
    let (next, next_dc, next_per_kg) = match &ladder.stop {
        Stop::Worth { next, per_kg } => (Some(next), None, Some(show.exact(*per_kg))),
        Stop::Budget { next, cost } => (Some(next), Some(show.exact(*cost)), None),
        Stop::NothingLeft | Stop::Mass | Stop::Long => (None, None, None),
    };
    let cost = match ladder.rungs.last() {
        Some(last) => show.difference(last.total, last.total.minus(ladder.cost()?)?)?,
        None => Dec::ZERO,
    };
    Ok(json!({
        "steps": steps.collect::<Result<Vec<_>, Overflow>>()?,
        "stopped": ladder.stop.name(),
        "next": next,
        "next_dC": next_dc,
        "next_per_kg": next_per_kg,
        "dC": show.as_it_is().exact(cost),
        "dM": ladder.saved()?.to_string(),
        "cost_difference": show.as_it_is().exact(cost),
        "mass_saved_g": ladder.saved()?.to_string(),
    }))
}

/// Pieces that are counted with usual figures.
fn usual(option: &Ranked, show: &Show) -> Vec<Value> {
    let one = |cure: &Cure| json!({"place": cure.place, "text": cure.text, "cost": show.exact(cure.cost), "mass_g": cure.mass().to_string()});
    option.usual.iter().map(one).collect()
}

fn climb(climb: &Climb) -> Value {
    json!({
        "grade_percent": climb.grade,
        "seconds": climb.seconds.fixed(0),
        "seconds_per_kg": climb.per_kg.fixed(1),
        "seconds_saved_by_ladder": climb.saved.fixed(1),
    })
}

fn unranked(all: &[Unranked]) -> Vec<Value> {
    all.iter()
        .map(|one| json!({"part": one.part, "seller": one.seller, "reason": one.reason}))
        .collect()
}

fn ranked(rank: usize, ranking: &Ranking, option: &Ranked, show: &Show) -> Result<Value, Overflow> {
    let difference = &option.difference;
    let net = option
        .net_benefit
        .map(|net| super::rank_view::net_of(net, ranking, option, show))
        .transpose()?;
    Ok(json!({
        "rank": rank,
        "part": option.part,
        "seller": option.seller,
        "offer": option.offer,
        "instead": option.instead,
        "with": option.with,
        "needs": option.needs,
        "bundled": option.bundled,
        "usual": usual(option, show),
        "replaces": option.replaces,
        "gone": option.gone,
        "alone": show.exact(option.alone),
        "together": show.as_it_is().exact(super::rank_view::added(ranking, option, show)?),
        "together_undisputed": option.disputed.as_ref().and_then(|disputed| disputed.undisputed).map(|without| show.exact(without)),
        "together_with_disputed": option.disputed.as_ref().and_then(|disputed| disputed.with_disputed).map(|with| show.exact(with)),
        "disputed": option.disputed.as_ref().map(|disputed| disputed_rows(&disputed.rows)),
        "resale": show.exact(option.resale),
        "resale_unknown": option.resale_unknown,
        "dM": difference.saved.to_string(),
        "per_kg": difference.per_kg()?.map(|ratio| show.exact(ratio)),
        "g_per_unit": super::rank_view::grams_per_unit(difference, show)?.map(|ratio| ratio.fixed(3)),
        "saved_per_kg_given_up": difference.per_kg_given_up()?.map(|ratio| show.exact(ratio)),
        "quadrant": difference.quadrant().name(),
        "words": super::rank_view::words_of(ranking, option, show)?,
        "net_benefit": net.map(|net| show.as_it_is().exact(net)),
        "chance": option.chance.map(|chance| chance.fixed(1)),
        "dM_expected": option.expected.map(|(expected, _)| expected.to_string()),
        "dM_deviation": option.expected.map(|(_, deviation)| deviation.to_string()),
        "doubtful": option.doubtful,
        "frontier": option.standing.letters(),
        "beaten_by": option.beaten_by,
        "notes": option.notes,
        "row": option.row,
    }))
}
