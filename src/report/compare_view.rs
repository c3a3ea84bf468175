//! `compare` as one screen: whether the build beats the bikes, each with the gap in price and weight, and what to look at before deciding.

use super::cautions::{End, Warnings, is_disputed};
use super::compare_set::{market_lines, racing_line, set_line};
use super::compare_trail::trail_of;
use super::difference::{on_scale, signed, whole};
use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::compare::{Against, Compared, Comparison, Market, Mine};
use crate::landed::Caution;
use crate::text::words::{count, few, list};
use crate::units::{Basis, Dec, Grams, Mode, Overflow, ShownMoney};
use crate::value::{Difference, Quadrant};

/// The view of a comparison; `trail` adds how every mass came to its basis.
pub fn compare_view(comparison: &Comparison, show: &Show, trail: bool) -> Result<View, Overflow> {
    view_for(comparison, show, trail, false)
}

/// The same for CSV, where sentences are not written: a floor is told in the header, and figures among words have no marks between
/// their thousands.
pub(crate) fn compare_tables(
    comparison: &Comparison,
    show: &Show,
    trail: bool,
) -> Result<View, Overflow> {
    view_for(comparison, show, trail, true)
}

fn view_for(
    comparison: &Comparison,
    show: &Show,
    trail: bool,
    apart: bool,
) -> Result<View, Overflow> {
    let mut view = View::default();
    view.answer(answer(comparison));
    view.say(weighed_and_worth(&comparison.mine, comparison.basis, show));
    let mut bikes = grid(comparison, show, apart)?;
    if !apart {
        bikes.on_screen = Some(Box::new(gaps(comparison, show)?));
    }
    view.table(bikes);
    let mut more = View::default();
    if !comparison.bikes.is_empty() {
        view.say("Gap: the build minus the bike. A kg saved: what each kilogram less costs you.");
        asked_for(comparison, show, &mut view);
        finishing(comparison, show, &mut view, &mut more)?;
    }
    mass_line(&comparison.mine, &mut more)?;
    ranges(comparison, show, &mut more)?;
    build_lines(comparison, show, &mut more);
    set_line(comparison, &mut more);
    market_lines(comparison, show, &mut more);
    racing_line(comparison, &mut more)?;
    view.more(more);
    if !comparison.left_out.is_empty() {
        view.head("Not compared");
        view.notes(
            comparison
                .left_out
                .iter()
                .map(|left| format!("{}: {}", left.bike, left.reason))
                .collect(),
        );
    }
    if trail {
        view.table(trail_of(comparison));
    }
    let end = End {
        next: "`landwaiter rank`, to see which change is worth its money.",
        at_the_door: false,
    };
    warnings(comparison, show)?.conclude("Before you decide", &end, show, &mut view);
    Ok(view)
}

/// The cautions, and beside them what is disputed.
fn warnings(comparison: &Comparison, show: &Show) -> Result<Warnings, Overflow> {
    let mine = &comparison.mine;
    // The answer says what is missing in the build.
    let said = |caution: &&Caution| {
        !matches!(
            caution.id,
            "mass-unknown" | "places-empty" | "replacement-unknown"
        )
    };
    let rest: Vec<Caution> = comparison.cautions.iter().filter(said).cloned().collect();
    let mut warnings = Warnings::of(&rest, show);
    if let Some((without, rows)) = &mine.disputed {
        let (disputed, turns) = (is_disputed(rows), turned(comparison, *without, show)?);
        let why = warnings.why(rows);
        let lower = *without < mine.replacement;
        let (counted, with) = if lower {
            ("", "Without")
        } else {
            (" and not counted", "With")
        };
        let text = format!(
            "{disputed}{counted}.{why} {with} it the build costs {} to buy again{turns}.",
            // beside parts that are compared by what was paid for them, as the answer is
            show.money(without.plus(mine.cost)?.minus(mine.replacement)?)
        );
        let difference = show.difference(*without, mine.replacement)?;
        warnings.costs(ShownMoney::of(difference), text, "disputed");
    }
    Ok(warnings)
}

/// Which verdicts change if what is disputed is decided otherwise.
fn turned(comparison: &Comparison, without: Dec, show: &Show) -> Result<String, Overflow> {
    let mine = &comparison.mine;
    if !mine.is_whole() || comparison.bikes.is_empty() {
        return Ok(String::new());
    }
    let mut turned = Vec::new();
    for against in &comparison.bikes {
        let after = against.difference_at(without.plus(mine.cost)?.minus(mine.replacement)?)?;
        if after.quadrant() != against.difference.quadrant() {
            let words = then_words(&after, show)?;
            turned.push(format!(
                "against {} it is then {words}",
                against.reference.name
            ));
        }
    }
    Ok(if turned.is_empty() {
        ", and no verdict changes".to_owned()
    } else {
        format!(": {}", list(&turned, "and"))
    })
}

/// What bikes of the build's weight usually cost, where there is a line to read it from.
fn asked_for(comparison: &Comparison, show: &Show, view: &mut View) {
    let Market::Line(asked) = &comparison.market else {
        return;
    };
    if comparison.mine.has_no_mass() || !comparison.mine.is_whole() {
        return;
    }
    let (low, high) = asked.band;
    let whole = |amount: Dec| show.round(amount.round_to(0, Mode::HalfUp));
    view.say(format!(
        "Bikes of this weight cost about {} {} (95 % likely between {} and {}).",
        whole(asked.asks),
        show.currency,
        whole(low),
        whole(high)
    ));
}

/// How much of the build's mass was weighed, and what a scale will probably say.
fn mass_line(mine: &Mine, view: &mut View) -> Result<(), Overflow> {
    if mine.has_no_mass() || !mine.mass.0.is_positive() {
        return Ok(());
    }
    if let Some(scale) = &mine.scale {
        view.say(format!("{}.", on_scale(scale)));
        return Ok(());
    }
    let share = mine.weighed_share()?.fixed(0);
    let expected = mine.expected.map(|(mass, deviation)| {
        format!(
            "; a scale will probably say {} g, give or take {} g (67 % likely)",
            whole(mass),
            whole(deviation)
        )
    });
    view.say(format!(
        "{share} % of its mass was weighed{}.",
        expected.unwrap_or_default()
    ));
    Ok(())
}

/// How the build does against the bikes, or why there is no verdict.
fn answer(comparison: &Comparison) -> String {
    let mine = &comparison.mine;
    if comparison.bikes.is_empty() {
        return "There is no bike to compare with: `bikes.csv` has none that can be compared."
            .to_owned();
    }
    if mine.compared == Compared::Nothing {
        return "No verdict on price: no part has a price to buy it again, and it is not known what was paid."
            .to_owned();
    }
    if !mine.price_unknown.is_empty() {
        return format!(
            "The build beats no bike for certain: what {} cost to buy again is unknown ({}), so every price gap flatters it.",
            count(mine.price_unknown.len(), "part", "parts"),
            few(&mine.price_unknown)
        );
    }
    if !mine.empty.is_empty() {
        return format!(
            "No verdict: parts of the bike are missing ({}), so every gap flatters the build.",
            few(&mine.empty)
        );
    }
    if mine.has_no_mass() {
        return "No verdict on weight: the weight of the build is unknown.".to_owned();
    }
    let of = |quadrant: Quadrant| {
        let both = |d: &Difference| !d.cost.is_zero() && !d.saved.0.is_zero();
        let bikes = comparison.bikes.iter().map(|against| &against.difference);
        bikes
            .filter(|d| d.quadrant() == quadrant && both(d))
            .count()
    };
    let (beats, beaten) = (of(Quadrant::Better), of(Quadrant::Worse));
    if comparison.bikes.len() == 1 {
        return match (beats, beaten) {
            (0, 0) => "Neither your build nor the bike beats the other on both price and weight.",
            (0, _) => "The bike beats your build on both price and weight.",
            _ => "Your build beats the bike on both price and weight.",
        }
        .to_owned();
    }
    let none = |number: usize| match number {
        0 => "none".to_owned(),
        number => number.to_string(),
    };
    format!(
        "Your build beats {} of {} on both price and weight; {} {} it on both.",
        none(beats),
        comparison.counted(),
        none(beaten),
        if beaten > 1 { "beat" } else { "beats" }
    )
}

/// `The build costs 3,125.59 GBP to buy again and weighs 8,537 g (racing: with pedals, cages and mounts).`
fn weighed_and_worth(mine: &Mine, on: Basis, show: &Show) -> String {
    let least = if mine.is_floor() { " at least" } else { "" };
    let cost = match mine.compared {
        Compared::Nothing => "The build costs an unknown sum".to_owned(),
        Compared::Paid if mine.has_no_price() => {
            format!("The build cost {}", show.money(mine.cost))
        }
        Compared::Paid | Compared::Replacement => {
            format!(
                "The build costs{least} {} to buy again",
                show.money(mine.cost)
            )
        }
    };
    let weighs = if mine.has_no_mass() {
        "weighs an unknown number of grams".to_owned()
    } else {
        format!("weighs {} g", mine.mass.grouped())
    };
    format!("{cost} and {weighs} ({}).", basis(on))
}

pub(super) fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Showroom => "showroom: no pedals, cages, sealant",
        Basis::Racing => "racing: with pedals, cages and mounts",
        Basis::Ride => "ride: as it is ridden, without rider and water",
    }
}

fn grid(comparison: &Comparison, show: &Show, apart: bool) -> Result<Grid, Overflow> {
    let here = format!("{} g", comparison.basis.name());
    let mine = &comparison.mine;
    // On a screen the sentence above says so.
    let costs = if apart && mine.is_floor() && mine.is_judged() {
        "it costs at least"
    } else {
        "it costs"
    };
    let mut grid = Grid::new(
        "bikes",
        &[
            "bike",
            "price",
            "kind",
            &here,
            costs,
            "it saves g",
            "the build is",
        ],
    );
    for against in &comparison.bikes {
        grid.rows.push(row_of(comparison, against, show, apart)?);
    }
    Ok(grid)
}

/// The table for a terminal: both gaps as the build minus the bike.
fn gaps(comparison: &Comparison, show: &Show) -> Result<Grid, Overflow> {
    let header = [
        "Bike",
        "Price",
        "Weight g",
        "Price gap",
        "Weight gap",
        "The build is",
    ];
    let mut grid = Grid::new("bikes", &header);
    for against in &comparison.bikes {
        let row = row_of(comparison, against, show, false)?;
        let [_, price, kind, mass, costs, _, verdict] = row.as_slice() else {
            continue;
        };
        let name = match kind.as_str() {
            "list" | "street" => Cell::text(&against.reference.name),
            kind => Cell::text(format!("{} ({kind})", against.reference.name)),
        };
        let mine = &comparison.mine;
        let heavier = match (mine.is_whole(), mine.has_no_mass()) {
            (false, _) => Cell::text("-"),
            (true, true) => Cell::text("unknown"),
            (true, false) => {
                let more = Grams(against.difference.saved.0.negated());
                Cell::number(signed(&whole(more)))
            }
        };
        let cells = [
            name,
            price.clone(),
            mass.clone(),
            costs.clone(),
            heavier,
            Cell::text(verdict.as_str().replacen(" and ", ", ", 1)),
        ];
        grid.rows.push(cells.into());
    }
    Ok(grid)
}

/// One bike as a row; `apart` is where its cells are read by programs, which take commas for ends.
fn row_of(
    comparison: &Comparison,
    against: &Against,
    show: &Show,
    apart: bool,
) -> Result<Vec<Cell>, Overflow> {
    let mine = &comparison.mine;
    let bike = &against.reference;
    let (known, weighed) = (mine.compared != Compared::Nothing, !mine.has_no_mass());
    let words = |text: String| if apart { text.replace(',', "") } else { text };
    let name = if bike.size.is_empty() {
        bike.name.clone()
    } else {
        format!("{} ({})", bike.name, bike.size)
    };
    let kind = if bike.imported {
        "landed"
    } else {
        bike.price_kind.name()
    };
    let costs = match (mine.is_whole(), known) {
        (false, _) => Cell::text("-"),
        (true, false) => Cell::text("unknown"),
        (true, true) => {
            let more = show.difference(mine.cost, bike.price)?;
            Cell::number(signed(&show.as_it_is().amount(more)))
        }
    };
    let saves = match (mine.is_whole(), weighed) {
        (false, _) => Cell::text("-"),
        (true, false) => Cell::text("unknown"),
        (true, true) => Cell::number(signed(&against.difference.saved.grouped())),
    };
    let verdict = match (mine.is_whole(), known, weighed) {
        (false, ..) => "no verdict".to_owned(),
        (true, true, true) => words(verdict(&against.difference, show)?),
        (true, true, false) => by_price(&against.difference).to_owned(),
        (true, false, true) => by_mass(&against.difference).to_owned(),
        (true, false, false) => "price and weight unknown".to_owned(),
    };
    Ok(vec![
        Cell::text(name),
        Cell::number(show.amount(bike.price)),
        Cell::text(kind),
        Cell::number(whole(bike.mass.mass.likely)),
        costs,
        saves,
        Cell::text(verdict),
    ])
}

/// The verdict where nothing is known of the build's price.
fn by_mass(difference: &Difference) -> &'static str {
    match difference.saved.0.cmp(&Dec::ZERO) {
        std::cmp::Ordering::Greater => "lighter; price unknown",
        std::cmp::Ordering::Less => "heavier; price unknown",
        std::cmp::Ordering::Equal => "as heavy; price unknown",
    }
}

/// The verdict where nothing is known of the build's mass.
fn by_price(difference: &Difference) -> &'static str {
    match difference.cost.cmp(&Dec::ZERO) {
        std::cmp::Ordering::Greater => "dearer; weight unknown",
        std::cmp::Ordering::Less => "cheaper; weight unknown",
        std::cmp::Ordering::Equal => "same price; weight unknown",
    }
}

/// What two differences say, in few words; a ratio only where it means something.
fn verdict(difference: &Difference, show: &Show) -> Result<String, Overflow> {
    let (cost, saved) = (difference.cost, difference.saved.0);
    let words = match difference.quadrant() {
        Quadrant::Same => "the same",
        Quadrant::TradeOff => {
            let per_kg = difference
                .per_kg()?
                .map(|ratio| show.amount(ratio))
                .unwrap_or_default();
            return Ok(format!("{per_kg} a kg saved"));
        }
        Quadrant::GivesUp => {
            let per_kg = difference
                .per_kg_given_up()?
                .map(|ratio| show.amount(ratio))
                .unwrap_or_default();
            return Ok(format!("{per_kg} a kg given up"));
        }
        Quadrant::Better if cost.is_zero() => "lighter, same price",
        Quadrant::Better if saved.is_zero() => "cheaper, same weight",
        Quadrant::Better => "cheaper and lighter",
        Quadrant::Worse if cost.is_zero() => "heavier, same price",
        Quadrant::Worse if saved.is_zero() => "dearer, same weight",
        Quadrant::Worse => "dearer and heavier",
    };
    Ok(words.to_owned())
}

/// From where to where the saving on one bike reaches.
fn range_of(comparison: &Comparison, against: &Against, show: &Show) -> Result<String, Overflow> {
    let floor = if comparison.mine.is_floor() {
        "at least "
    } else {
        ""
    };
    let per_kg = against.per_kg_range()?;
    let per_kg = match per_kg.filter(|_| comparison.mine.is_judged()) {
        Some((low, high)) => {
            let (low, high) = (show.amount(low), show.amount(high));
            format!(", {floor}{low} to {high} a kg")
        }
        None => String::new(),
    };
    let open = if against.is_open() {
        ": which is lighter is open"
    } else {
        ""
    };
    let (low, high) = against.saved;
    Ok(format!(
        "{} {} to {} g{per_kg}{open}",
        against.reference.name,
        whole(low),
        whole(high)
    ))
}

/// The ranges of the grams saved, carried through to the cost per kilogram.
fn ranges(comparison: &Comparison, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let open =
        |against: &&Against| comparison.mine.is_weighable() && against.saved.0 != against.saved.1;
    let said = comparison.bikes.iter().filter(open);
    let said = said
        .map(|against| range_of(comparison, against, show))
        .collect::<Result<Vec<String>, Overflow>>()?;
    if !said.is_empty() {
        view.say(format!(
            "Weight saved, with the range of what the tables add or take off: {}.",
            said.join("; ")
        ));
    }
    let landed: Vec<&str> = comparison
        .bikes
        .iter()
        .filter(|a| a.reference.imported)
        .map(|a| a.reference.name.as_str())
        .collect();
    if !landed.is_empty() {
        view.say(format!(
            "Landed: {} with what is due at customs; all prices include tax.",
            list(&landed, "and")
        ));
    }
    Ok(())
}

/// What the build is compared by.
fn compared_by(mine: &Mine, show: &Show) -> String {
    match mine.compared {
        Compared::Nothing => {
            "No part has a price to buy it again at, nor is it known what was paid.".to_owned()
        }
        Compared::Paid if mine.has_no_price() => {
            format!(
                "No part has a price to buy it again at: {} by what was paid.",
                few(&mine.by_paid)
            )
        }
        Compared::Paid => {
            let (money, paid) = (show.money(mine.replacement), few(&mine.by_paid));
            format!(
                "Compared is the cost to buy again, {money} at least, and for {paid} what was paid."
            )
        }
        Compared::Replacement => {
            let least = if mine.is_floor() { " at least" } else { "" };
            format!(
                "Compared is the cost to buy again: {}{least}.",
                show.money(mine.replacement)
            )
        }
    }
}

fn build_lines(comparison: &Comparison, show: &Show, view: &mut View) {
    let mine = &comparison.mine;
    let value = compared_by(mine, show);
    view.say(format!(
        "{value} Still to pay{}: {}. Already paid: {}.",
        if mine.tools_left_out > 0 {
            ", without tools and shop work"
        } else {
            ""
        },
        show.money(mine.to_pay),
        show.money(mine.spent)
    ));
    if let Some(rows) = tools_left_out(mine.tools_left_out) {
        view.say(format!(
            "{rows} left out of all these sums; `--with-tools` counts them."
        ));
    }
    let missing: Vec<String> = mine
        .mass_unknown
        .iter()
        .chain(&mine.empty)
        .map(|name| format!("`{name}`"))
        .collect();
    if !missing.is_empty() {
        let (low, high) = mine.missing;
        view.say(format!(
            "Parts are missing: {} usually add {} to {} g.",
            list(&missing, "and"),
            low.grouped(),
            high.grouped()
        ));
    }
}

/// How many bikes are named beside what finishing the build costs.
const NEAREST: usize = 2;

/// What finishing a whole build costs beside the bikes, the nearest first; of half a bike that says nothing.
fn finishing(
    comparison: &Comparison,
    show: &Show,
    view: &mut View,
    more: &mut View,
) -> Result<(), Overflow> {
    let mine = &comparison.mine;
    if mine.is_whole() && !mine.is_to_finish() {
        view.say("Nothing is left to pay: what it costs is what was paid.");
    } else if mine.is_to_finish() && !mine.spent.is_zero() {
        let mut nearest: Vec<&Against> = comparison.bikes.iter().collect();
        nearest.sort_by_key(|against| against.to_finish.abs());
        let from_here = |all: &[&Against]| -> Result<Vec<String>, Overflow> {
            all.iter()
                .map(|against| from_here(mine, against, show))
                .collect()
        };
        let open = match mine.to_pay_unknown.as_slice() {
            [] => String::new(),
            open => format!(
                "; what is still to be paid for {} is unknown and not in it",
                few(open)
            ),
        };
        let (near, far) = nearest.split_at(nearest.len().min(NEAREST));
        view.say(format!(
            "From here on: finishing the build costs {}{open}.",
            list(&from_here(near)?, "and")
        ));
        if !far.is_empty() {
            more.say(format!(
                "Finishing it costs {}.",
                list(&from_here(far)?, "and")
            ));
        }
    }
    Ok(())
}

/// `3 rows of tools, fluids, shop work and spares are`; none where there are none.
pub(super) fn tools_left_out(rows: usize) -> Option<String> {
    let told = || {
        count(
            rows,
            "row of tools, fluids, shop work or spares is",
            "rows of tools, fluids, shop work and spares are",
        )
    };
    (rows > 0).then(told)
}

/// A verdict within a sentence.
fn then_words(difference: &Difference, show: &Show) -> Result<String, Overflow> {
    let verdict = verdict(difference, show)?;
    Ok(match difference.quadrant() {
        Quadrant::TradeOff => format!("dearer and lighter ({verdict})"),
        Quadrant::GivesUp => format!("cheaper and heavier ({verdict})"),
        Quadrant::Better | Quadrant::Same | Quadrant::Worse => verdict,
    })
}

/// `4.80 less than Staithe Nine`.
fn from_here(mine: &Mine, against: &Against, show: &Show) -> Result<String, Overflow> {
    let side = if against.to_finish.is_negative() {
        "less"
    } else {
        "more"
    };
    let shown = show.difference(mine.to_pay, against.reference.price)?.abs();
    if shown.is_zero() {
        return Ok(format!("no more than {}", against.reference.name));
    }
    Ok(format!(
        "{} {side} than {}",
        show.as_it_is().amount(shown),
        against.reference.name
    ))
}
