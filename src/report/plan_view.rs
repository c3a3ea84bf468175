//! `plan` as one screen and as JSON: the plan and its proof, what changes place by place, why dearer offers were taken,
//! limits that parcels cross.

use serde_json::{Value, json};

use super::cautions::{End, Warnings, cautions};
use super::plan_changes::{Sums, changes, changes_json, pair};
use super::plan_points::{Step, points, steps};
use super::show::Show;
use super::shown::{ShownSums, shown};
use super::view::{Cell, Grid, View};
use crate::landed::Question;
use crate::plan::{Choice, Crossed, Plan, Plans, Sought, Stopped, Why};
use crate::text::words::{count, few, list};
use crate::units::{Dec, Grams, Overflow};

/// The name of this shape.
pub(super) const FORMAT: &str = "landwaiter.plan/1";

/// The view of a planning.
pub fn plan_view(plans: &Plans, ask: &Question, show: &Show) -> Result<View, Overflow> {
    let mut view = View::default();
    let frontier = plans.sought == Sought::Frontier;
    let Some(last) = plans.plans.last() else {
        return Ok(view);
    };
    view.answer(headline(plans, last, ask, show)?);
    let mut more = View::default();
    if let Some(scale) = &plans.scale {
        more.say(format!(
            "{}. Plans start from what the scale said.",
            super::difference::on_scale(scale)
        ));
    } else {
        more.say(format!(
            "Weights are on this basis: {}.",
            super::compare_view::basis(plans.basis)
        ));
    }
    limits_at(ask).into_iter().for_each(|line| more.say(line));
    if frontier {
        view.table(points(plans, show)?);
        if !plans.changes.is_empty() {
            view.head("The cheapest of them against the build");
        }
    }
    view.table(changes(&plans.changes, last, plans.build, show)?);
    let sums = Sums::of(&plans.changes, last, plans.build, show)?;
    if sums.is_some_and(|sums| !plans.changes.is_empty() && !sums.others.is_zero()) {
        more.say(
            "Other parts stay, but their shares of shipping and charges change with the parcels.",
        );
    }
    if plans.changes.is_empty() {
        view.say(if frontier {
            "The cheapest of them is the build as it is."
        } else {
            "Nothing changes: the build as it is now is the plan."
        });
    }
    let whys: Vec<String> = plans.whys.iter().map(|why| why_words(why, show)).collect();
    if !whys.is_empty() {
        view.head("Why a higher price tag costs less");
        view.notes(whys);
    }
    more.table(parcels(plans, show)?);
    crossed_words(&plans.crossed, show)
        .into_iter()
        .for_each(|line| more.say(line));
    let left_out = plans.left_out.iter();
    left_out.for_each(|(part, why)| view.say(format!("No offer: {part}, {why}.")));
    unfilled_words(&plans.unfilled)
        .into_iter()
        .for_each(|line| view.say(line));
    view.more(more);
    let due = plans.landed.as_ref();
    let end = End {
        next: next(plans, frontier),
        at_the_door: due.is_some_and(|landed| landed.totals.to_pay_carrier.is_positive()),
    };
    warnings(plans, show)?.conclude("Before you order", &end, show, &mut view);
    Ok(view)
}

/// What to do with a plan. A frontier cannot be written, as one of its plans has to be chosen first.
fn next(plans: &Plans, frontier: bool) -> &'static str {
    if frontier {
        "choose one, and `landwaiter plan --max-mass GRAMS --write` writes it into the build; `undo` takes it back."
    } else if plans.changes.is_empty() {
        "`landwaiter order` shows what to order, parcel by parcel."
    } else {
        "`landwaiter plan --write`, with the same flags, writes it into the build; `undo` takes it back."
    }
}

/// The cautions, and beside them what is disputed in the plan.
fn warnings(plans: &Plans, show: &Show) -> Result<Warnings, Overflow> {
    let mut warnings = Warnings::of(&plans.cautions, show);
    let Some(landed) = &plans.landed else {
        return Ok(warnings);
    };
    let landed = &shown(landed, show)?;
    if let Some((other, rows)) = landed.decided_otherwise()? {
        warnings.disputed(landed.totals.landed()?, other, &rows, show)?;
    }
    Ok(warnings)
}

fn headline(plans: &Plans, last: &Plan, ask: &Question, show: &Show) -> Result<String, Overflow> {
    let choice = match plans.offers {
        0 => "every place has one offer at most".to_owned(),
        offers => format!(
            "{} for {}",
            count(offers, "offer", "offers"),
            count(plans.places, "place", "places")
        ),
    };
    if plans.sought == Sought::Frontier {
        return Ok(of_frontier(plans, &choice));
    }
    let sought = match (plans.sought, ask.max_mass, ask.budget) {
        (Sought::Lightest, _, Some(budget)) => {
            format!("Lightest build within {}", show.money(budget))
        }
        (_, Some(mass), _) => format!("Cheapest build within {} g", mass.grouped()),
        (_, None, _) => "Cheapest build".to_owned(),
    };
    Ok(format!(
        "{sought}: {} landed, {} g{}. {} ({choice}).",
        show.money(last.landed),
        last.mass.grouped(),
        against_build(plans, last, show)?,
        proof(plans, last, show)
    ))
}

/// The headline of a frontier: how many plans, and whether one may be missing.
fn of_frontier(plans: &Plans, choice: &str) -> String {
    let found = plans.plans.len();
    let (what, proof) = match plans.stopped {
        Stopped::Proven => (
            count(
                found,
                "plan that no other beats in both",
                "plans that no other beats in both",
            ),
            "none is missing, proven".to_owned(),
        ),
        why => {
            let closed = plans.plans.iter().filter(|p| p.proven).count();
            let plans = count(found, "plan", "plans");
            (
                format!("The best known so far: {plans}"),
                format!(
                    "stopped by the {}: {closed} of {found} proven, for the others better ones may exist, and between them more",
                    stop_words(why)
                ),
            )
        }
    };
    let outside = match plans.outside {
        0 => String::new(),
        more => format!(
            "; {} over the budget or the weight limit and not shown",
            count(more, "plan is", "plans are")
        ),
    };
    format!("{what}, out of {choice}; {proof}{outside}.")
}

/// Places that stay open.
fn unfilled_words(places: &[String]) -> Option<String> {
    let (verb, them) = match places {
        [] => return None,
        [_] => ("stays", "it"),
        _ => ("stay", "them"),
    };
    Some(format!(
        "Nothing is offered for {}: {} {verb} open, and neither money nor grams are counted for {them}.",
        few(places),
        if places.len() == 1 {
            "the place"
        } else {
            "these places"
        },
    ))
}

/// How a plan stands to the build as it stands.
fn against_build(plans: &Plans, last: &Plan, show: &Show) -> Result<String, Overflow> {
    let Some((landed, mass)) = &plans.build else {
        return Ok(String::new());
    };
    let money = show.difference(last.landed, *landed)?;
    let grams = last.mass.minus(*mass)?;
    if money.is_zero() && grams.0.is_zero() {
        return Ok(", the same as now".to_owned());
    }
    let known = plans.changes.iter().all(|change| change.mass.is_some());
    let weight = if !known {
        "a difference in weight that is unknown".to_owned()
    } else if grams.0.is_zero() {
        "the same weight".to_owned()
    } else {
        let word = if grams.0.is_negative() {
            "less"
        } else {
            "more"
        };
        format!("{} g {word}", Grams(grams.0.abs()).grouped())
    };
    let word = if money.is_negative() { "less" } else { "more" };
    let money = show.as_it_is().amount(money.abs());
    Ok(format!(", {money} {word} than now and {weight}"))
}

/// Whether something better may exist, and by how much.
fn proof(plans: &Plans, last: &Plan, show: &Show) -> String {
    let why = match plans.stopped {
        Stopped::Proven => return "Proven: nothing is better".to_owned(),
        why => stop_words(why),
    };
    if plans.sought == Sought::Lightest {
        return format!(
            "Stopped by the {why}: at most {} g lighter is possible",
            Grams(last.gap)
        );
    }
    format!(
        "Stopped by the {why}: at most {} less is possible",
        show.money(last.gap)
    )
}

fn stop_words(why: Stopped) -> &'static str {
    match why {
        Stopped::Interrupted => "user",
        Stopped::Proven | Stopped::TimeLimit => "time limit",
    }
}

fn parcels(plans: &Plans, show: &Show) -> Result<Grid, Overflow> {
    let mut grid = Grid::new(
        "parcels",
        &["Parcel then", "Goods", "Shipping", "Charges", "Landed"],
    );
    let Some(landed) = &plans.landed else {
        return Ok(grid);
    };
    let landed = &shown(landed, show)?;
    let row = |name: &str, a: &ShownSums| -> Result<Vec<Cell>, Overflow> {
        let goods = a.net_goods()?;
        let landed = a.landed()?;
        let freight = a.freight.plus(a.insurance)?;
        let charges = landed.minus(goods)?.minus(freight)?;
        let cells =
            [goods, freight, charges, landed].map(|amount| Cell::number(show.amount(amount)));
        Ok(std::iter::once(Cell::text(name)).chain(cells).collect())
    };
    for bill in &landed.bills {
        grid.rows.push(row(
            super::parcel_table::parcel_name(bill.home),
            &bill.amounts,
        )?);
    }
    if !landed.totals.held.is_zero() {
        grid.rows.push(row(
            "Already yours",
            &ShownSums {
                goods: landed.totals.held,
                ..ShownSums::default()
            },
        )?);
    }
    grid.foot = Some(row("Total", &landed.totals.amounts)?);
    Ok(grid)
}

/// What the price tag and the effects named leave of the difference of the whole, all as they are shown.
fn other_charges(why: &Why, show: &Show) -> Result<Dec, Overflow> {
    let named = why
        .effects
        .iter()
        .filter(|(_, _, more)| more.is_positive())
        .take(3)
        .map(|(_, _, more)| show.rounded(*more));
    let named = Dec::total(named.collect::<Result<Vec<_>, _>>()?)?;
    show.rounded(why.landed)?
        .plus(show.rounded(why.tag)?)?
        .minus(named)
}

/// The parcel effect, named.
fn why_words(why: &Why, show: &Show) -> String {
    let from = |(part, seller): &(String, String)| {
        if seller.is_empty() {
            part.clone()
        } else {
            format!("{part} from {seller}")
        }
    };
    let effects: Vec<String> = why
        .effects
        .iter()
        .filter(|(_, _, more)| more.is_positive())
        .take(3)
        .map(|(parcel, what, more)| match *what {
            // a discount that is lost costs more
            "discount" => format!("discount of {parcel} {} less", show.amount(*more)),
            "freight" => format!("shipping of {parcel} {} more", show.amount(*more)),
            "tax" => format!("{} of {parcel} {} more", show.tax(), show.amount(*more)),
            _ => format!("{what} of {parcel} {} more", show.amount(*more)),
        })
        .collect();
    let shown = show.as_it_is();
    let rest = match other_charges(why, show) {
        Ok(rest) if rest.is_negative() => {
            format!(", other charges {} less", shown.amount(rest.abs()))
        }
        Ok(rest) if rest.is_positive() => format!(", other charges {} more", shown.amount(rest)),
        _ => String::new(),
    };
    let because = if effects.is_empty() {
        String::new()
    } else {
        format!(". With the other one: {}{rest}.", effects.join(", "))
    };
    let less = if why.landed.is_zero() {
        "no more".to_owned()
    } else {
        format!("{} less", show.amount(why.landed))
    };
    let other = match &why.cheaper {
        (part, seller) if *part == why.taken.0 && !seller.is_empty() => format!("from {seller}"),
        other => format!("that of {}", from(other)),
    };
    format!(
        "{}: its price tag is {} higher than {other}, yet the build costs {less}{because}",
        from(&why.taken),
        show.amount(why.tag),
    )
}

/// One sentence for each limit, with every parcel that is over it; and why nothing is done about it.
fn crossed_words(crossed: &[Crossed], show: &Show) -> Vec<String> {
    let mut limits: Vec<&str> = crossed.iter().map(|c| c.limit.as_str()).collect();
    limits.sort_unstable();
    limits.dedup();
    let over = |limit: &str| {
        let here = crossed.iter().filter(|c| c.limit == limit);
        let parcels: Vec<String> = here
            .map(|c| format!("{} by {}", c.parcel, show.amount(c.by)))
            .collect();
        format!("Above the limit `{limit}`: {}.", list(&parcels, "and"))
    };
    let mut lines: Vec<String> = limits.into_iter().map(over).collect();
    if !lines.is_empty() {
        lines.push("Never split an order to get under a limit: customs looks at what one seller sends together.".to_owned());
    }
    lines
}

/// Where a file gives the limits.
fn limits_at(ask: &Question) -> Option<String> {
    let limits = [("max_mass_g", "weight limit"), ("budget", "budget")];
    let told = limits.iter().filter_map(|(limit, name)| {
        let place = ask.limits_at.get(limit)?;
        Some(format!("the {name} is set at {place}"))
    });
    let told = list(&told.collect::<Vec<_>>(), "and");
    told.strip_prefix("the ").map(|rest| format!("The {rest}."))
}

/// The limits for programs, with the place of those that a file gives.
pub(super) fn limits_json(ask: &Question, show: &Show) -> Vec<Value> {
    let mass = ask.max_mass.map(|most| ("max_mass_g", most.to_string()));
    let budget = ask.budget.map(|most| ("budget", show.exact(most)));
    let one = |(limit, most): (&'static str, String)| {
        let place = ask.limits_at.get(limit).map(ToString::to_string);
        json!({"limit": limit, "most": most, "place": place})
    };
    mass.into_iter().chain(budget).map(one).collect()
}

/// What is at each place, for programs.
pub(super) fn choices(plan: &Plan) -> Vec<Value> {
    let one = |c: &Choice| json!({"place": c.place, "part": c.part, "seller": c.seller});
    plan.choices.iter().map(one).collect()
}

/// The plans as JSON.
pub fn plan_json(
    plans: &Plans,
    ask: &Question,
    show: &Show,
    tables: &Value,
) -> Result<Value, Overflow> {
    let by_mass = plans.sought == Sought::Lightest;
    let figure = |amount: Dec| {
        if by_mass {
            Grams(amount).to_string()
        } else {
            show.exact(amount)
        }
    };
    let frontier = plans.sought == Sought::Frontier;
    let plan = |(at, p): (usize, &Plan)| {
        let before = at.checked_sub(1).map(|before| &plans.plans[before]);
        let step = |step: &Step| json!({"place": step.place, "before": pair(&step.before), "after": pair(&step.after)});
        let from = before.map(|before| steps(before, p).iter().map(step).collect::<Vec<_>>());
        let mut shown = json!({
            "landed": show.exact(p.landed),
            "mass_g": p.mass.to_string(),
            "choices": choices(p),
            "proven": p.proven,
            "bound": figure(p.bound),
            "gap": figure(p.gap),
            "stopped": plans.stopped.name(),
        });
        if frontier {
            shown["changes"] = json!(from);
        }
        shown
    };
    let why = |w: &Why| {
        let effects: Vec<Value> =
            w.effects.iter().map(|(parcel, what, more)| json!({"parcel": parcel, "what": what, "more": show.exact(*more)})).collect();
        json!({"taken": pair(&Some(w.taken.clone())), "cheaper": pair(&Some(w.cheaper.clone())), "price_tag": show.exact(w.tag),
            "landed": show.exact(w.landed), "effects": effects})
    };
    let last = plans.plans.last();
    let others = last.map(|last| Sums::of(&plans.changes, last, plans.build, show));
    let others = others.transpose()?.flatten();
    Ok(json!({
        "format": FORMAT,
        "destination": ask.to.to_string(),
        "currency": show.currency.to_string(),
        "date": ask.date.to_string(),
        "tables": tables,
        "sought": plans.sought.name(),
        "limits": limits_json(ask, show),
        "max_mass_g": ask.max_mass.map(|m| m.to_string()),
        "budget": ask.budget.map(|b| show.exact(b)),
        "offers": plans.offers,
        "places": plans.places,
        "stopped": plans.stopped.name(),
        "plans": plans.plans.iter().enumerate().map(plan).collect::<Vec<_>>(),
        "outside": plans.outside,
        "open": plans.open.iter().map(|(cost, mass, least)| json!({"landed": cost.map(|cost| show.exact(cost)), "mass_g": mass.to_string(),
            "bound": show.exact(*least)})).collect::<Vec<_>>(),
        "build": plans.build.as_ref().map(|(landed, mass)| json!({"landed": show.exact(*landed), "mass_g": mass.to_string()})),
        "basis": plans.basis.name(),
        "scale": plans.scale.as_ref().map(super::scale_json::scale_json),
        "changes": changes_json(&plans.changes, show),
        "other_parts": others.map(|sums| show.as_it_is().exact(sums.others)),
        "unfilled": plans.unfilled,
        "whys": plans.whys.iter().map(why).collect::<Vec<_>>(),
        "crossed": plans.crossed.iter().map(|c| json!({"parcel": c.parcel, "limit": c.limit, "by": show.exact(c.by)})).collect::<Vec<_>>(),
        "left_out": plans.left_out.iter().map(|(part, why)| json!({"part": part, "reason": why})).collect::<Vec<_>>(),
        "cautions": cautions(&plans.cautions),
    }))
}
