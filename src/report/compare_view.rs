//! `compare` as one screen: the build, the bikes it stands against, the two differences and what they say.

use super::compare_set::{market_lines, racing_line, set_line};
use super::compare_trail::trail_of;
use super::difference::{on_scale, signed, whole};
use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::compare::{Against, Compared, Comparison, Mine};
use crate::landed::{Caution, decided_otherwise};
use crate::text::words::{count, few, list};
use crate::units::{Basis, Dec, Overflow};
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
    view.say(headline(comparison, show));
    mass_line(&comparison.mine, &mut view)?;
    view.table(grid(comparison, show, apart)?);
    view.say("");
    ranges(comparison, show, &mut view)?;
    build_lines(comparison, show, &mut view)?;
    disputed_line(comparison, show, &mut view)?;
    set_line(comparison, &mut view);
    market_lines(comparison, show, &mut view);
    racing_line(comparison, &mut view)?;
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
    // What is not whole has been said above.
    let said = |caution: &&Caution| !matches!(caution.id, "mass-unknown" | "places-empty");
    let rest: Vec<Caution> = comparison.cautions.iter().filter(said).cloned().collect();
    if !rest.is_empty() {
        view.head("Before you compare");
        view.notes(super::cautions::caution_lines(&rest));
    }
    Ok(view)
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
            "; a scale will probably say {} g, give or take {} g (two in three)",
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

fn headline(comparison: &Comparison, show: &Show) -> String {
    let mine = &comparison.mine;
    let comma = if mine.compared == Compared::Replacement {
        ""
    } else {
        ","
    };
    let weighing = if mine.has_no_mass() {
        "of a mass that is not known".to_owned()
    } else {
        format!("weighing {} g", mine.mass.grouped())
    };
    let build = format!(
        "The build, {}{comma} and {weighing} ({})",
        cost(mine, show),
        basis(comparison.basis)
    );
    if comparison.bikes.is_empty() {
        return format!(
            "{build}, stands against no bike: `bikes.csv` has none that can be compared."
        );
    }
    format!(
        "{build}, stands against {}{}",
        comparison.counted(),
        outcome(comparison)
    )
}

/// What comes of a comparison, or why there is no verdict.
fn outcome(comparison: &Comparison) -> String {
    let mine = &comparison.mine;
    if mine.compared == Compared::Nothing {
        return ": no verdict on price.".to_owned();
    }
    if !mine.price_unknown.is_empty() {
        return format!(
            ". What {} cost to buy again is not known ({}), so every difference in price flatters it. What it costs is a floor, and so is the price of each kilogram saved.",
            count(mine.price_unknown.len(), "part", "parts"),
            few(&mine.price_unknown)
        );
    }
    if !mine.empty.is_empty() {
        return format!(
            ". Parts of the bike are missing ({}), so there is no verdict: every difference flatters it.",
            few(&mine.empty)
        );
    }
    if mine.has_no_mass() {
        return ": no verdict on mass.".to_owned();
    }
    match comparison.beaten() {
        beaten if beaten.is_empty() => ".".to_owned(),
        beaten => format!(", and is both cheaper and lighter than {beaten}."),
    }
}

/// By what the build is compared, in words.
pub(super) fn cost(mine: &Mine, show: &Show) -> String {
    match mine.compared {
        Compared::Replacement => format!("bought anew at {}", show.money(mine.cost)),
        Compared::Nothing => {
            "for which neither a price to buy it again at nor what was paid is known".to_owned()
        }
        Compared::Paid if mine.has_no_price() => {
            format!("by what was paid for it, {}", show.money(mine.cost))
        }
        Compared::Paid => {
            let parts = count(
                mine.by_paid.len(),
                "part without a price",
                "parts without a price",
            );
            format!(
                "at {}, of it bought anew {}, the rest by what was paid for {parts}",
                show.money(mine.cost),
                show.money(mine.replacement)
            )
        }
    }
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
        (true, false) => Cell::text("not known"),
        (true, true) => {
            let more = show.difference(mine.cost, bike.price)?;
            Cell::number(signed(&show.as_it_is().amount(more)))
        }
    };
    let saves = match (mine.is_whole(), weighed) {
        (false, _) => Cell::text("-"),
        (true, false) => Cell::text("not known"),
        (true, true) => Cell::number(signed(&against.difference.saved.grouped())),
    };
    let verdict = match (mine.is_whole(), known, weighed) {
        (false, ..) => "not whole: no verdict".to_owned(),
        (true, true, true) => words(verdict(&against.difference, show)?),
        (true, true, false) => by_price(&against.difference).to_owned(),
        (true, false, true) => by_mass(&against.difference).to_owned(),
        (true, false, false) => "price and mass not known".to_owned(),
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
        std::cmp::Ordering::Greater => "lighter; price not known",
        std::cmp::Ordering::Less => "heavier; price not known",
        std::cmp::Ordering::Equal => "as heavy; price not known",
    }
}

/// The verdict where nothing is known of the build's mass.
fn by_price(difference: &Difference) -> &'static str {
    match difference.cost.cmp(&Dec::ZERO) {
        std::cmp::Ordering::Greater => "dearer; mass not known",
        std::cmp::Ordering::Less => "cheaper; mass not known",
        std::cmp::Ordering::Equal => "same price; mass not known",
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
        Quadrant::Better if saved.is_zero() => "cheaper, same mass",
        Quadrant::Better => "cheaper and lighter",
        Quadrant::Worse if cost.is_zero() => "heavier, same price",
        Quadrant::Worse if saved.is_zero() => "dearer, same mass",
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
            "Saved, by the range of what the tables add or take off: {}.",
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
            "landed: {} with what is due at the border; all prices are with tax.",
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
                "Replacement value {money} at least, what the next person would pay, is compared, and {paid} by what was paid."
            )
        }
        Compared::Replacement => {
            let least = if mine.is_floor() { " at least" } else { "" };
            format!(
                "Replacement value {}{least}, what the next person would pay, is compared.",
                show.money(mine.replacement)
            )
        }
    }
}

fn build_lines(comparison: &Comparison, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let mine = &comparison.mine;
    let value = compared_by(mine, show);
    view.say(format!(
        "{value} To pay{} {}. Spent {}: gone either way.",
        if mine.tools_left_out > 0 {
            ", without tools and shop work,"
        } else {
            ""
        },
        show.money(mine.to_pay),
        show.money(mine.spent)
    ));
    if !comparison.bikes.is_empty() {
        finishing(comparison, show, view)?;
    }
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
            "The build is not whole: {} usually add {} to {} g.",
            list(&missing, "and"),
            low.grouped(),
            high.grouped()
        ));
    }
    Ok(())
}

/// What finishing a whole build costs beside each bike; of half a bike that says nothing.
fn finishing(comparison: &Comparison, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let mine = &comparison.mine;
    if mine.is_whole() && !mine.is_to_finish() {
        view.say("Nothing is left to pay: what it costs is what was paid.");
    } else if mine.is_to_finish() && !mine.spent.is_zero() {
        let from_here: Vec<String> = comparison
            .bikes
            .iter()
            .map(|against| from_here(mine, against, show))
            .collect::<Result<_, _>>()?;
        let open = match mine.to_pay_unknown.as_slice() {
            [] => String::new(),
            open => format!(
                "; what is still to be paid for {} is not known and not in it",
                few(open)
            ),
        };
        view.say(format!(
            "From here on, finishing it costs {}{open}.",
            list(&from_here, "and")
        ));
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

/// What the build would cost if the law were read otherwise, and which verdicts that turns.
fn disputed_line(comparison: &Comparison, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let mine = &comparison.mine;
    let Some((without, rows)) = &mine.disputed else {
        return Ok(());
    };
    let mut turned = Vec::new();
    for against in comparison.bikes.iter().filter(|_| mine.is_whole()) {
        let after = against.difference_at(without.plus(mine.cost)?.minus(mine.replacement)?)?;
        if after.quadrant() != against.difference.quadrant() {
            turned.push(format!(
                "against {} it is then {}",
                against.reference.name,
                then_words(&after, show)?
            ));
        }
    }
    let what = decided_otherwise(rows);
    let turns = match turned.is_empty() {
        _ if !mine.is_whole() || comparison.bikes.is_empty() => String::new(),
        true => ": no verdict changes".to_owned(),
        false => format!(": {}", list(&turned, "and")),
    };
    view.say(format!(
        "{what} the build is bought anew at {}{turns}.",
        show.money(*without)
    ));
    Ok(())
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
