//! `rank` as one screen: the options in order, what the best next steps are, what they are worth on a climb, what would break.

use super::difference::signed;
use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::landed::{Disputed, Question, decided_otherwise};
use crate::rank::{Cure, InDispute, Ladder, Ranked, Ranking, Stop, Unranked};
use crate::text::words::{count, list};
use crate::units::{Dec, Grams, Overflow};
use crate::value::{Difference, Quadrant, Standing};

/// The view of a ranking.
pub fn rank_view(ranking: &Ranking, ask: &Question, show: &Show) -> Result<View, Overflow> {
    let mut view = View::default();
    view.say(headline(ranking, ask, show)?);
    view.say(format!(
        "To pay {}; replacement value {}; spent {}, gone either way.",
        show.money(ranking.to_pay),
        ranking
            .replacement
            .map_or("not known".to_owned(), |value| show.money(value)),
        show.money(ranking.spent)
    ));
    if let Some(scale) = &ranking.scale {
        view.say(format!("{}.", super::difference::on_scale(scale)));
    }
    view.table(grid(ranking, show)?);
    remarks(ranking, show, &mut view);
    ladder_block(ranking, ask, show, &mut view)?;
    climb_block(ranking, ask, &mut view)?;
    if ranking.unfit.is_empty() && !ranking.options.is_empty() {
        view.say("What would break: no option, as far as `fits` says.");
    }
    for (heading, all) in [
        ("What would break", &ranking.unfit),
        ("Not ranked", &ranking.left_out),
    ] {
        if !all.is_empty() {
            view.head(heading);
            view.notes(all.iter().map(unranked).collect());
        }
    }
    if !ranking.cautions.is_empty() {
        view.head(super::return_view::HEADING);
        view.notes(super::cautions::caution_lines(&ranking.cautions));
    }
    Ok(view)
}

fn headline(ranking: &Ranking, ask: &Question, show: &Show) -> Result<String, Overflow> {
    let Some(best) = ranking.options.first() else {
        return Ok(
            "Nothing to rank: no row has the role `option` or `rival` with a price and a mass."
                .to_owned(),
        );
    };
    let words = words_of(ranking, best, show)?;
    let sentence = match best.difference.quadrant() {
        Quadrant::Better => format!("{} gives nothing up: {words}.", best.title()),
        Quadrant::TradeOff if best.last => {
            format!(
                "No option saves grams that are sure to be there; first stands {}: {words}.",
                best.title()
            )
        }
        Quadrant::TradeOff => {
            let per_unit = grams_per_unit(&best.difference, show)?
                .map(|grams| grams.fixed(2))
                .unwrap_or_default();
            format!(
                "The next money buys most at {}: {words}, {per_unit} g for 1 {}.",
                best.title(),
                show.currency
            )
        }
        Quadrant::GivesUp | Quadrant::Same | Quadrant::Worse => {
            format!(
                "No option takes grams off; first stands {}: {words}.",
                best.title()
            )
        }
    };
    // once it was weighed, the line of the scale says so
    let summed = ranking.scale.is_none() && ranking.mass.0.is_positive();
    let weighs = if summed {
        format!(
            " and weighs {} g ({})",
            ranking.mass.grouped(),
            ask.basis.name()
        )
    } else {
        String::new()
    };
    Ok(format!(
        "{} against a build that lands at {}{weighs}. {sentence}",
        count(ranking.options.len(), "option", "options"),
        show.money(ranking.landed)
    ))
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
        let per_kg = option.difference.per_kg()?;
        let mut row = vec![
            Cell::text(option.title()),
            Cell::number(signed(&show.amount(option.alone))),
            Cell::number(signed(
                &show.as_it_is().amount(added(ranking, option, show)?),
            )),
            Cell::number(signed(&option.difference.saved.grouped())),
            Cell::number(option.chance.map_or("-".to_owned(), chance)),
            Cell::number(per_kg.map_or("-".to_owned(), |ratio| show.amount(ratio))),
        ];
        let net = option
            .net_benefit
            .map(|net| net_of(net, ranking, option, show))
            .transpose()?;
        row.extend(net.map(|net| Cell::number(signed(&show.as_it_is().amount(net)))));
        grid.rows.push(row);
    }
    Ok(grid)
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
fn remarks(ranking: &Ranking, show: &Show, view: &mut View) {
    if ranking.options.is_empty() {
        return;
    }
    let mut said: Vec<String> = Vec::new();
    let worth = ranking.worth_per_kg.map(|worth| {
        format!(
            "; net: its grams at {} a kg, less the cost",
            show.amount(worth)
        )
    });
    said.push(format!(
        "alone: in its own parcels; together: with what is ordered; real: the chance that grams are saved{}.",
        worth.unwrap_or_default()
    ));
    let last: Vec<String> = ranking
        .options
        .iter()
        .filter(|option| option.doubtful)
        .map(doubt)
        .collect();
    if !last.is_empty() {
        said.push(format!(
            "Last, as smaller than its doubt: {}.",
            last.join("; ")
        ));
    }
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
        said.push(format!("Taken off for resale: {}.", sold.join(", ")));
    }
    view.say(said.join(" "));
    in_dispute(ranking, show, view);
    let remarks = ranking.options.iter();
    view.notes(remarks.filter_map(|option| remark(option, show)).collect());
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
            "it leaves {places} empty, which no option fills: usual figures are counted, {figures}"
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
            parts.push(
                "two others mixed would save more for the money (advice: nobody buys half of each)"
                    .to_owned(),
            );
        }
        None => {}
    }
    parts.extend(option.notes.iter().cloned());
    (!parts.is_empty()).then(|| format!("{}: {}", option.title(), parts.join("; ")))
}

/// What options cost together without the rows in dispute that their cost rests on.
fn in_dispute(ranking: &Ranking, show: &Show, view: &mut View) {
    let all: Vec<(&Ranked, &InDispute)> = ranking
        .options
        .iter()
        .filter_map(|option| Some((option, option.disputed.as_ref()?)))
        .collect();
    if all.is_empty() {
        return;
    }
    let rows: Vec<Disputed> = all
        .iter()
        .flat_map(|(_, disputed)| &disputed.rows)
        .cloned()
        .collect();
    let what = decided_otherwise(&rows);
    let told = |(option, disputed): &(&Ranked, &InDispute)| {
        format!(
            "{} {}",
            option.title(),
            signed(&show.amount(disputed.together))
        )
    };
    let each: Vec<String> = all.iter().map(told).collect();
    view.say(format!("{what} together: {}.", each.join("; ")));
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
    view.head(
        "The ladder: the best next steps, each reckoned given those before and none taken back",
    );
    let mut grid = Grid::new(
        "ladder",
        &["step", "costs", "saves g", "per kg", "total", "bike g"],
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
    view.table(grid);
    for rung in ladder
        .rungs
        .iter()
        .filter(|rung| !rung.passed_over.is_empty())
    {
        view.say(format!(
            "{} was passed over before {}: over the budget.",
            list(&rung.passed_over, "and"),
            rung.option.title()
        ));
    }
    view.say(stop_words(ladder, ask, show));
    Ok(())
}

fn stop_words(ladder: &Ladder, ask: &Question, show: &Show) -> String {
    let budget = ask
        .budget
        .map(|budget| show.amount(budget))
        .unwrap_or_default();
    let worth = ask
        .worth_per_kg
        .map(|worth| show.money(worth))
        .unwrap_or_default();
    let begin = if ladder.rungs.is_empty() {
        "No step"
    } else {
        "It ends here"
    };
    match &ladder.stop {
        Stop::NothingLeft => {
            format!("{begin}: no option saves more grams that are sure to be there.")
        }
        Stop::Worth { next, per_kg } => {
            format!(
                "{begin}: {next}, the next, costs {} a kg, over the worth of {worth}.",
                show.money(*per_kg)
            )
        }
        Stop::Mass => {
            let limit = ask.max_mass.map(Grams::grouped).unwrap_or_default();
            format!(
                "{begin}: the mass limit of {limit} g is kept, and every other step costs money."
            )
        }
        Stop::Budget { next, cost } => format!(
            "{begin}: {next} adds {}, over the budget of {budget}.",
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
