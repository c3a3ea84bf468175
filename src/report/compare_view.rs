//! `compare` as one screen: the build, the bikes it stands against, the two differences and what they say.

use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::compare::{Against, Comparison};
use crate::text::words::{count, list};
use crate::units::{Basis, Grams, Overflow};
use crate::value::basis::Step;

/// The view of a comparison; `trail` adds how every mass came to its basis.
pub fn compare_view(comparison: &Comparison, show: &Show, trail: bool) -> Result<View, Overflow> {
    let mut view = View::default();
    view.say(headline(comparison, show));
    view.table(grid(comparison, show)?);
    let mut lines = Vec::new();
    for against in &comparison.bikes {
        lines.push(format!("against {} the build is {}{}", against.reference.name, words(against, show)?, within(against)));
    }
    view.notes(lines);
    build_lines(comparison, show, &mut view);
    if !comparison.left_out.is_empty() {
        view.head("Not compared");
        view.notes(comparison.left_out.iter().map(|left| format!("{}: {}", left.bike, left.reason)).collect());
    }
    if trail {
        view.table(trail_of(comparison));
    }
    view.head("Before you compare");
    view.notes(super::check_view::caution_lines(&comparison.cautions));
    Ok(view)
}

fn headline(comparison: &Comparison, show: &Show) -> String {
    let mine = &comparison.mine;
    let build = format!(
        "The build, bought anew at {} and weighing {} g ({})",
        show.money(mine.replacement),
        grams(mine.mass),
        basis(comparison.basis)
    );
    if comparison.bikes.is_empty() {
        return format!("{build}, stands against no bike: `bikes.csv` has none that can be compared.");
    }
    if !comparison.mine.empty.is_empty() {
        let places = count(comparison.mine.empty.len(), "required place is", "required places are");
        return format!(
            "{build}, stands against {}. It is not whole: {places} empty, so every difference flatters it.",
            comparison.counted()
        );
    }
    let beaten = comparison.beaten();
    let beats = if beaten.is_empty() { String::new() } else { format!(", and is both cheaper and lighter than {beaten}") };
    format!("{build}, stands against {}{beats}.", comparison.counted())
}

fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Showroom => "showroom: no pedals, cages, sealant",
        Basis::Racing => "racing: with pedals, cages and mounts",
        Basis::Ride => "ride: as it is ridden, without rider and water",
    }
}

pub(super) fn grams(mass: Grams) -> String {
    let decimals = mass.0.round_to(1, crate::units::Mode::HalfUp).decimals();
    mass.0.grouped(decimals)
}

fn grid(comparison: &Comparison, show: &Show) -> Result<Grid, Overflow> {
    let here = format!("{} g", comparison.basis.name());
    let mut grid = Grid::new("bikes", &["bike", "price", "kind", "told g", &here, "build\ncosts", "build\nsaves g", "per kg"]);
    for against in &comparison.bikes {
        let bike = &against.reference;
        let name = if bike.size.is_empty() { bike.name.clone() } else { format!("{} ({})", bike.name, bike.size) };
        let kind = if bike.imported { format!("{}, landed", bike.price_kind.name()) } else { bike.price_kind.name().to_owned() };
        let per_kg = against.difference.per_kg()?;
        grid.rows.push(vec![
            Cell::text(name),
            Cell::number(show.amount(bike.price)),
            Cell::text(kind),
            Cell::text(format!("{} {}", grams(bike.told), bike.told_basis.name())),
            Cell::number(grams(bike.mass.mass.likely)),
            Cell::number(signed(&show.amount(against.difference.cost))),
            Cell::number(signed(&grams(against.difference.saved))),
            per_kg.map_or(Cell::text("-"), |ratio| Cell::number(show.amount(ratio))),
        ]);
    }
    Ok(grid)
}

/// Differences carry their sign.
pub(super) fn signed(figure: &str) -> String {
    let nothing = figure.chars().all(|c| matches!(c, '0' | '.' | ','));
    if figure.starts_with('-') || nothing { figure.to_owned() } else { format!("+{figure}") }
}

fn words(against: &Against, show: &Show) -> Result<String, Overflow> {
    against.difference.words(|amount| show.money(amount))
}

/// The range of the grams, where the bike had to be brought to this basis by a range.
fn within(against: &Against) -> String {
    let (low, high) = against.saved;
    if low == high {
        return String::new();
    }
    format!(" (grams saved: {} to {}, by what the tables add or take off)", grams(low), grams(high))
}

fn build_lines(comparison: &Comparison, show: &Show, view: &mut View) {
    let mine = &comparison.mine;
    view.say("");
    view.say(format!(
        "Compared is the replacement value, {}: what the next person would pay for the same bike today. Spent {}, to pay {}.",
        show.money(mine.replacement),
        show.money(mine.spent),
        show.money(mine.to_pay)
    ));
    if mine.tools_left_out > 0 {
        let rows =
            count(mine.tools_left_out, "row of tools, fluids, shop work or spares is", "rows of tools, fluids, shop work and spares are");
        view.say(format!("{rows} left out of all these sums."));
    }
    let missing: Vec<String> = mine.mass_unknown.iter().chain(&mine.empty).map(|name| format!("`{name}`")).collect();
    if !missing.is_empty() {
        let (low, high) = mine.missing;
        view.say(format!("The build is not whole: {} usually add {} to {} g.", list(&missing, "and"), grams(low), grams(high)));
    }
}

fn trail_of(comparison: &Comparison) -> Grid {
    let mut grid = Grid::new("masses", &["bike", "step", "g", "row"]);
    for against in &comparison.bikes {
        let bike = &against.reference;
        grid.rows.push(vec![
            Cell::text(&bike.name),
            Cell::text(format!("as told, {}", bike.told_basis.name())),
            Cell::number(grams(bike.told)),
            Cell::text(&bike.row),
        ]);
        for step in &bike.mass.steps {
            grid.rows.push(vec![
                Cell::Empty,
                Cell::text(step_words(step)),
                Cell::number(signed(&grams(step.grams.likely))),
                Cell::text(step.row.to_string()),
            ]);
        }
    }
    grid
}

fn step_words(step: &Step) -> String {
    match &step.own {
        Some(part) => format!("{}: the build's own, {part}", step.text),
        None if step.grams.is_exact() => step.text.clone(),
        None => format!("{}: {} to {}", step.text, grams(step.grams.low), grams(step.grams.high)),
    }
}
