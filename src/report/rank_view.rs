//! `rank` as one screen: the options in order, what the best next steps are, what they are worth on a climb, what would break.

use super::cautions::{End, Warnings, is_disputed};
use super::difference::signed;
use super::show::Show;
use super::view::{Cell, Grid, View};
use serde_json::{Value, json};

use crate::landed::{Jurisdiction, Question};
use crate::rank::{Cure, Ranked, Ranking, Stop, Unranked};
use crate::text::words::{count, list, some};
use crate::units::{Dec, Grams, HomeMoney, Overflow, ShownMoney};
use crate::value::{Difference, Quadrant, Standing};

/// The view of a ranking.
///
/// `lost` is what the worst of the options would lose if it went back, and a sentence about all of them.
pub fn rank_view(
    ranking: &Ranking,
    ask: &Question,
    show: &Show,
    lost: Option<Lost>,
) -> Result<View, Overflow> {
    let mut view = View::default();
    view.answer(answer(ranking, show)?);
    view.say(now(ranking, ask, show));
    let mut more = View::default();
    more.say(paid(ranking, show));
    let mut options = grid(ranking, show)?;
    options.on_screen = Some(Box::new(changes(ranking, show)?));
    view.table(options);
    if let Some(scale) = &ranking.scale {
        more.say(format!("{}.", super::difference::on_scale(scale)));
    }
    remarks(ranking, show, &mut view, &mut more);
    ladder_block(ranking, ask, show, &mut view)?;
    climb_block(ranking, ask, &mut more)?;
    fit_block(ranking, &mut view, &mut more);
    view.more(more);
    let mut warnings = warnings(ranking, show)?;
    if let Some(lost) = lost {
        warnings.costs(show.shown(lost.most)?, lost.text, "wrong-part");
        lost.each.into_iter().for_each(|each| warnings.detail(each));
    }
    let end = End {
        next: "`landwaiter plan`, which tries all choices together.",
        at_the_door: false,
    };
    warnings.conclude("Before you order", &end, show, &mut view);
    Ok(view)
}

/// What does not fit, by name, and why behind `--more`; and what could not be ranked.
fn fit_block(ranking: &Ranking, view: &mut View, more: &mut View) {
    if ranking.unfit.is_empty() {
        if !ranking.options.is_empty() {
            more.say("Every option fits, as far as `fits` says.");
        }
    } else {
        let names: Vec<&str> = ranking.unfit.iter().map(|one| one.part.as_str()).collect();
        view.say(format!(
            "Does not fit: {} (`--more` says why).",
            list(&names, "and")
        ));
        more.head("Does not fit");
        more.notes(ranking.unfit.iter().map(unranked).collect());
    }
    if !ranking.left_out.is_empty() {
        view.head("Not ranked");
        view.notes(ranking.left_out.iter().map(unranked).collect());
    }
}

/// What options lose if they prove the wrong part and go back.
pub struct Lost {
    /// The most that one of them loses.
    pub(crate) most: HomeMoney,
    /// That in a sentence, with the first of them.
    pub(crate) text: String,
    /// Every one of them, where the sentence does not name them all.
    pub(crate) each: Option<String>,
}

/// What each option loses if it proves the wrong part and goes back; none where nothing is known of it.
pub(crate) fn lost_if_wrong(
    losses: &[(String, Option<Dec>)],
    jurisdiction: &Jurisdiction<'_>,
    show: &Show,
) -> Option<Lost> {
    let mut known: Vec<(Dec, &str)> = losses
        .iter()
        .filter_map(|(part, loss)| Some(((*loss)?, part.as_str())))
        .collect();
    known.sort_by(|one, other| other.0.cmp(&one.0).then(one.1.cmp(other.1)));
    let (most, _) = *known.first()?;
    let spreads = &jurisdiction.tables.spreads;
    let usual = spreads.iter().find(|row| row.rule.what == "wrong-part");
    let often = usual.and_then(|row| row.rule.chance);
    let often = often.map_or_else(String::new, |chance| {
        format!(" (about {chance} % do; no source)")
    });
    let each: Vec<String> = known
        .iter()
        .map(|(loss, part)| format!("{part} {}", show.amount(*loss)))
        .collect();
    let text = format!(
        "Lost if a part proves wrong and goes back{often}: {}. Check the fit first; `landwaiter return --part NAME` shows why.",
        some(&each, 2)
    );
    let more = each.len() > 2;
    Some(Lost {
        most: HomeMoney::of(most),
        text,
        each: more.then(|| format!("Lost if sent back: {}.", each.join(", "))),
    })
}

/// The same for programs, in each option.
pub(crate) fn add_losses(losses: &[(String, Option<Dec>)], show: &Show, json: &mut Value) {
    if let Some(options) = json.get_mut("options").and_then(Value::as_array_mut) {
        for (option, (_, loss)) in options.iter_mut().zip(losses) {
            option["lost_if_sent_back"] = json!(loss.map(|loss| show.exact(loss)));
        }
    }
}

/// What the cautions of a ranking cost, and what is disputed in its options.
fn warnings(ranking: &Ranking, show: &Show) -> Result<Warnings, Overflow> {
    let mut warnings = Warnings::of(&ranking.cautions, show);
    let disputed = ranking
        .options
        .iter()
        .filter_map(|option| Some((option, option.disputed.as_ref()?)));
    let (mut most, mut rows, mut each) = (Dec::ZERO, Vec::new(), Vec::new());
    for (option, disputed) in disputed {
        most = most.max(show.difference(disputed.together, option.together)?.abs());
        rows.extend(disputed.rows.iter().cloned());
        each.push(format!(
            "{} {} instead of {}",
            option.title(),
            signed(&show.amount(disputed.together)),
            signed(&show.as_it_is().amount(added(ranking, option, show)?))
        ));
    }
    if !each.is_empty() {
        let why = warnings.why(&rows);
        let text = format!(
            "{}.{why} Decided otherwise, the cost is: {}.",
            is_disputed(&rows),
            some(&each, 1)
        );
        if each.len() > 1 {
            let each = each.join(", ");
            warnings.detail(format!("Decided otherwise, the cost is: {each}."));
        }
        warnings.costs(ShownMoney::of(most), text, "disputed");
    }
    Ok(warnings)
}

/// The best change, in a sentence.
pub(super) fn answer(ranking: &Ranking, show: &Show) -> Result<String, Overflow> {
    let Some(best) = ranking.options.first() else {
        return Ok(
            "Nothing to rank: no row has the role `option` or `rival` with a price and a weight."
                .to_owned(),
        );
    };
    let words = words_of(ranking, best, show)?;
    Ok(match best.difference.quadrant() {
        Quadrant::Better => format!("Best change: {}, {words}.", best.title()),
        Quadrant::TradeOff if best.last => format!(
            "No change is sure to save weight; first comes {}: {words}.",
            best.title()
        ),
        Quadrant::TradeOff => {
            let per_unit = grams_per_unit(&best.difference, show)?
                .map(|grams| grams.fixed(2))
                .unwrap_or_default();
            format!(
                "Best change: {}: {words}, {per_unit} g for 1 {}.",
                best.title(),
                show.currency
            )
        }
        Quadrant::GivesUp | Quadrant::Same | Quadrant::Worse => format!(
            "No change saves weight; first comes {}: {words}.",
            best.title()
        ),
    })
}

/// What the build costs and weighs as it is.
fn now(ranking: &Ranking, ask: &Question, show: &Show) -> String {
    let weighs = match &ranking.scale {
        Some(scale) => format!(", {} g as weighed", scale.likely().grouped()),
        None if ranking.mass.0.is_positive() => {
            let least = if ranking.mass_unknown.is_empty() {
                ""
            } else {
                "at least "
            };
            let (mass, basis) = (ranking.mass.grouped(), ask.basis.name());
            format!(", {least}{mass} g ({basis})")
        }
        None => String::new(),
    };
    format!("Now: {} landed{weighs}.", show.money(ranking.landed))
}

/// What of it is paid, what is not, and what the same build would cost to buy again.
fn paid(ranking: &Ranking, show: &Show) -> String {
    format!(
        "Still to pay: {}. Already paid: {}. To buy again: {}.",
        show.amount(ranking.to_pay),
        show.amount(ranking.spent),
        ranking
            .replacement
            .map_or("unknown".to_owned(), |value| show.amount(value))
    )
}

/// The table for a terminal: what each change costs in the order it joins, and what it saves; a saving that is not sure has a
/// question mark.
fn changes(ranking: &Ranking, show: &Show) -> Result<Grid, Overflow> {
    let header = [
        "Change, best first",
        "Buy from",
        "Cost",
        "Saves g",
        "Per kg",
    ];
    let mut grid = Grid::new("options", &header);
    for option in &ranking.options {
        let [_, cost, saved, _, per_kg, ..] = &row_of(ranking, option, show, false)?[..] else {
            continue;
        };
        let seller = option.seller.as_deref().unwrap_or("-");
        let saved = match (option.doubtful, saved) {
            (true, Cell::Number(grams)) => Cell::number(format!("{grams}?")),
            (_, sure) => sure.clone(),
        };
        let change = option.title().replacen(&format!(" from {seller}"), "", 1);
        grid.rows.push(vec![
            Cell::text(change),
            Cell::text(seller),
            cost.clone(),
            saved,
            per_kg.clone(),
        ]);
    }
    Ok(grid)
}

/// What an option adds to the order as it is shown: the difference of both totals as they are shown.
pub(super) fn added(ranking: &Ranking, option: &Ranked, show: &Show) -> Result<Dec, Overflow> {
    show.difference(ranking.landed.plus(option.together)?, ranking.landed)
}

/// What an option is worth less what it adds, as both are shown.
pub(super) fn net_of(
    net: Dec,
    ranking: &Ranking,
    option: &Ranked,
    show: &Show,
) -> Result<Dec, Overflow> {
    show.rounded(net.plus(option.together)?)?
        .minus(added(ranking, option, show)?)
}

/// An option's difference in words.
pub(super) fn words_of(
    ranking: &Ranking,
    option: &Ranked,
    show: &Show,
) -> Result<String, Overflow> {
    let (own, added) = (
        option.difference.cost.abs(),
        added(ranking, option, show)?.abs(),
    );
    option.difference.words(|amount| {
        if amount == own {
            show.as_it_is().money(added)
        } else {
            show.money(amount)
        }
    })
}

/// Grams saved for each unit of the money shown.
pub(super) fn grams_per_unit(
    difference: &Difference,
    show: &Show,
) -> Result<Option<Dec>, Overflow> {
    let shown = Difference {
        cost: show.rate.convert(difference.cost)?,
        ..*difference
    };
    shown.grams_per_unit()
}

fn grid(ranking: &Ranking, show: &Show) -> Result<Grid, Overflow> {
    let mut header = vec![
        "option, best first",
        "alone",
        "together",
        "saves g",
        "real",
        "per kg",
    ];
    if ranking.worth_per_kg.is_some() {
        header.push("net");
    }
    let mut grid = Grid::new("options", &header);
    for option in &ranking.options {
        grid.rows.push(row_of(ranking, option, show, true)?);
    }
    Ok(grid)
}

/// One option; `alone` is its cost in parcels of its own too.
fn row_of(
    ranking: &Ranking,
    option: &Ranked,
    show: &Show,
    alone: bool,
) -> Result<Vec<Cell>, Overflow> {
    let per_kg = option.difference.per_kg()?;
    let added = show.as_it_is().amount(added(ranking, option, show)?);
    let mut row = vec![Cell::text(option.title())];
    row.extend(alone.then(|| Cell::number(signed(&show.amount(option.alone)))));
    row.extend([
        Cell::number(signed(&added)),
        Cell::number(signed(&option.difference.saved.grouped())),
        Cell::number(option.chance.map_or("-".to_owned(), chance)),
        Cell::number(per_kg.map_or("-".to_owned(), |ratio| show.amount(ratio))),
    ]);
    let net = option
        .net_benefit
        .map(|net| net_of(net, ranking, option, show))
        .transpose()?;
    row.extend(net.map(|net| Cell::number(signed(&show.as_it_is().amount(net)))));
    Ok(row)
}

/// A chance out of a hundred; what is all but certain is not called certain.
fn chance(chance: Dec) -> String {
    match chance.fixed(0).as_str() {
        "100" => ">99 %".to_owned(),
        "0" => "<1 %".to_owned(),
        middle => format!("{middle} %"),
    }
}

/// What the table does not say: how to read it, and what is particular about some options.
fn remarks(ranking: &Ranking, show: &Show, view: &mut View, more: &mut View) {
    if ranking.options.is_empty() {
        return;
    }
    let mut said = vec!["Cost: added to your order, less resale.".to_owned()];
    let last: Vec<String> = ranking
        .options
        .iter()
        .filter(|option| option.doubtful)
        .map(doubt)
        .collect();
    if !last.is_empty() {
        said.push("A question mark: not a sure saving.".to_owned());
        more.say(format!(
            "Last, because a claim so small is not sure: {}.",
            last.join("; ")
        ));
    }
    if let Some(worth) = ranking.worth_per_kg {
        let worth = show.amount(worth);
        let worthy = ranking.options.iter().filter(|option| {
            option.difference.saved.0.is_positive()
                && option.net_benefit.is_some_and(Dec::is_positive)
        });
        said.push(match worthy.count() {
            0 => format!("At your {worth} a kg no change is worth its cost."),
            1 => format!("At your {worth} a kg one change that saves weight is worth its cost."),
            many => format!(
                "At your {worth} a kg {many} changes that save weight are worth their cost."
            ),
        });
    }
    more.say(
        "Alone: in parcels of its own. Together: with what you are ordering. Real: the chance that weight is saved. Net: what the grams are worth, less the cost.",
    );
    let mut sold: Vec<String> = Vec::new();
    for option in ranking
        .options
        .iter()
        .filter(|option| !option.resale.is_zero())
    {
        let one = format!(
            "{} {}",
            list(&option.replaces, "and"),
            show.amount(option.resale)
        );
        if !sold.contains(&one) {
            sold.push(one);
        }
    }
    if !sold.is_empty() {
        more.say(format!("Resale deducted: {}.", sold.join(", ")));
    }
    view.say(said.join(" "));
    let remarks = ranking.options.iter();
    more.notes(remarks.filter_map(|option| remark(option, show)).collect());
}

/// `Clew pedals (3 g, give or take 8)`.
fn doubt(option: &Ranked) -> String {
    let (expected, deviation) = option.expected.unwrap_or_default();
    format!(
        "{} ({} g, give or take {})",
        option.title(),
        expected.grouped(),
        deviation.grouped()
    )
}

/// Which usual pieces are counted with an option, and with which figures; none where there are none.
fn usual(option: &Ranked, show: &Show) -> Option<String> {
    let each = |of: fn(&Cure, &Show) -> String| -> Vec<String> {
        option.usual.iter().map(|cure| of(cure, show)).collect()
    };
    let places = each(|cure, _| format!("`{}`", cure.place));
    let figures = each(|cure, show| {
        let (cost, mass) = (show.money(cure.cost), cure.mass().grouped());
        format!("{cost} and {mass} g for {}", cure.text)
    });
    (!places.is_empty()).then(|| {
        let places = list(&places, "and");
        let figures = figures.join(", ");
        format!(
            "it leaves {places} empty, which no option fills, so usual figures are counted: {figures}"
        )
    })
}

/// What is particular about an option; none where the table says all.
fn remark(option: &Ranked, show: &Show) -> Option<String> {
    let mut parts: Vec<String> = Vec::new();
    parts.extend(usual(option, show));
    if !option.gone.is_empty() {
        parts.push(format!("{} goes too", list(&option.gone, "and")));
    }
    match &option.beaten_by {
        Some(other) => parts.push(format!("{other} costs no more and weighs no more")),
        None if option.standing == Standing::Extended => {
            parts.push("two others together would save more for the money".to_owned());
        }
        None => {}
    }
    parts.extend(option.notes.iter().cloned());
    (!parts.is_empty()).then(|| format!("{}: {}", option.title(), parts.join("; ")))
}

/// The steps for a terminal: the seller in a column of its own, as in the table above.
fn rungs(ranking: &Ranking, show: &Show) -> Result<Grid, Overflow> {
    let header = ["Step", "Buy from", "Cost", "Saves g", "Per kg", "Total"];
    let mut grid = Grid::new("ladder", &header);
    for rung in &ranking.ladder.rungs {
        let difference = &rung.option.difference;
        let seller = rung.option.seller.as_deref().unwrap_or("-");
        let cost = show.difference(rung.total, rung.total.minus(difference.cost)?)?;
        let per_kg = difference.per_kg()?;
        grid.rows.push(vec![
            Cell::text(
                rung.option
                    .title()
                    .replacen(&format!(" from {seller}"), "", 1),
            ),
            Cell::text(seller),
            Cell::number(signed(&show.as_it_is().amount(cost))),
            Cell::number(signed(&difference.saved.grouped())),
            Cell::number(per_kg.map_or("-".to_owned(), |ratio| show.amount(ratio))),
            Cell::number(show.amount(rung.total)),
        ]);
    }
    Ok(grid)
}

fn ladder_block(
    ranking: &Ranking,
    ask: &Question,
    show: &Show,
    view: &mut View,
) -> Result<(), Overflow> {
    let ladder = &ranking.ladder;
    if ranking.options.is_empty() {
        return Ok(());
    }
    view.head("One after another");
    let mut grid = Grid::new(
        "ladder",
        &["Step", "Cost", "Saves g", "Per kg", "Total", "Bike g"],
    );
    for rung in &ladder.rungs {
        let difference = &rung.option.difference;
        grid.rows.push(vec![
            Cell::text(rung.option.title()),
            Cell::number(signed(&show.as_it_is().amount(
                show.difference(rung.total, rung.total.minus(difference.cost)?)?,
            ))),
            Cell::number(signed(&difference.saved.grouped())),
            Cell::number(
                difference
                    .per_kg()?
                    .map_or("-".to_owned(), |ratio| show.amount(ratio)),
            ),
            Cell::number(show.amount(rung.total)),
            Cell::number(rung.mass.grouped()),
        ]);
    }
    grid.on_screen = Some(Box::new(rungs(ranking, show)?));
    view.table(grid);
    for rung in ladder
        .rungs
        .iter()
        .filter(|rung| !rung.passed_over.is_empty())
    {
        view.say(format!(
            "{} would go over the budget before {}, and was left out.",
            list(&rung.passed_over, "and"),
            rung.option.title()
        ));
    }
    view.say(stop_words(ranking, ask, show));
    Ok(())
}

fn stop_words(ranking: &Ranking, ask: &Question, show: &Show) -> String {
    let budget = ask
        .budget
        .map(|budget| show.amount(budget))
        .unwrap_or_default();
    let worth = ask
        .worth_per_kg
        .map(|worth| show.money(worth))
        .unwrap_or_default();
    let ladder = &ranking.ladder;
    let begin = if ladder.rungs.is_empty() {
        "No step"
    } else {
        "Then stop"
    };
    match &ladder.stop {
        Stop::NothingLeft => {
            format!("{begin}: no other option is sure to save weight.")
        }
        Stop::Worth { next, per_kg } => {
            format!(
                "{begin}: {next}, the next, costs {} a kg, more than the {worth} it is worth to you.",
                show.money(*per_kg)
            )
        }
        Stop::Mass => {
            let limit = ask.max_mass.map(Grams::grouped).unwrap_or_default();
            let build = if ranking.is_floor() {
                "what is known"
            } else {
                "the build"
            };
            format!("{begin}: {build} is within {limit} g, and every other step costs money.")
        }
        Stop::Budget { next, cost } => format!(
            "{begin}: {next} adds {}, which goes over the budget of {budget}.",
            show.amount(*cost)
        ),
        Stop::Long => format!(
            "So far {}; there are more.",
            count(ladder.rungs.len(), "step", "steps")
        ),
    }
}

fn climb_block(ranking: &Ranking, ask: &Question, view: &mut View) -> Result<(), Overflow> {
    let (Some(kg), Some(watts), Some(first)) =
        (ask.rider_kg, ask.rider_watts, ranking.climb.first())
    else {
        return Ok(());
    };
    let saved = ranking.ladder.saved()?;
    view.say(format!(
        "On 1000 m climbed, {kg} kg and {watts} W gain {} s by a kilogram less at {} % (model of Martin and others, 1998; still air). Air and tyres usually move more than a kilogram; a gram on a wheel counts once.",
        first.per_kg.fixed(0),
        first.grade
    ));
    if ask.kind == "hardtail" {
        view.say("Off the road, bikes of 11.6, 12.6 and 13.6 kg made no difference to nine riders that could be measured (Berry and others, 2000).");
    }
    let ladder = format!("the ladder, {} g", saved.grouped());
    let mut header = vec!["slope", "time", "a kg less"];
    if saved.0.is_positive() {
        header.push(&ladder);
    }
    let mut grid = Grid::new("climb", &header);
    for climb in &ranking.climb {
        let mut row = vec![
            Cell::text(format!("{} %", climb.grade)),
            Cell::number(clock(climb.seconds)),
            Cell::number(format!("{} s", climb.per_kg.fixed(1))),
        ];
        if saved.0.is_positive() {
            row.push(Cell::number(format!("{} s", climb.saved.fixed(1))));
        }
        grid.rows.push(row);
    }
    view.table(grid);
    Ok(())
}

/// `1:12:09`.
fn clock(seconds: Dec) -> String {
    let all = seconds.in_units(0).unwrap_or_default();
    format!("{}:{:02}:{:02}", all / 3600, all / 60 % 60, all % 60)
}

fn unranked(one: &Unranked) -> String {
    let seller = one
        .seller
        .as_ref()
        .map(|seller| format!(" ({seller})"))
        .unwrap_or_default();
    format!("{}{seller}: {}", one.part, one.reason)
}
