//! What a plan changes, as a table: each change with its grams and its money, and what the parts that stay land at more or less.

use serde_json::{Value, json};

use super::difference::signed;
use super::show::Show;
use super::view::{Cell, Grid};
use crate::plan::{Change, Plan};
use crate::units::{Dec, Grams, Overflow};

/// A part and its seller; none where there is nothing.
pub(super) type Side = Option<(String, String)>;

/// What changes. The other parts stand below, since parcels change around them, so that the column of money adds up to the
/// difference of the whole. A terminal has no room for two pairs of part and seller: there they are told together.
pub(super) fn changes(
    all: &[Change],
    plan: &Plan,
    build: Option<(Dec, Grams)>,
    show: &Show,
) -> Result<Grid, Overflow> {
    let money = format!("{} more", show.currency);
    let heads = ["place", "build", "build from", "plan", "plan from"];
    let mut grid = Grid::new("changes", &[&heads[..], &["g more", &money]].concat());
    let heads = ["Place", "Plan", "Buy from", "Instead of", "g"];
    let short = show.currency.to_string();
    let mut screen = Grid::new("changes", &[&heads[..], &[&short]].concat());
    for change in all {
        let figures = [grams(change.mass), moved(change.landed, show)?];
        let row = |words: Vec<String>| words.into_iter().map(Cell::text).chain(figures.clone());
        grid.rows.push(row(whole(change)).collect());
        screen.rows.push(row(told(change)).collect());
    }
    if let (Some(sums), false) = (Sums::of(all, plan, build, show)?, all.is_empty()) {
        for grid in [&mut grid, &mut screen] {
            sums.below(grid, show);
        }
    }
    grid.on_screen = Some(Box::new(screen));
    Ok(grid)
}

/// A change with both parts and both sellers in columns of their own.
fn whole(change: &Change) -> Vec<String> {
    let pair = |side: &Side| side.clone().unwrap_or_else(|| (nothing(), String::new()));
    let ((old, whom), (new, from)) = (pair(&change.before), pair(&change.after));
    vec![change.place.clone(), old, whom, new, from]
}

/// A change for a screen: what to buy and from whom, and what it stands for; of one part another seller is enough.
fn told(change: &Change) -> Vec<String> {
    let (new, from) = (change.after.clone()).unwrap_or_else(|| (nothing(), String::new()));
    let instead = instead(&change.before, &new);
    vec![change.place.clone(), new, from, instead]
}

/// What something stands for: of one part another seller is enough.
fn instead(before: &Side, new: &str) -> String {
    match before {
        None => nothing(),
        Some((old, whom)) if old == new && !whom.is_empty() => whom.clone(),
        Some((old, whom)) if whom.is_empty() => old.clone(),
        Some((old, whom)) => format!("{old}, {whom}"),
    }
}

/// A change as part of a sentence.
pub(super) fn words(before: &Side, after: &Side) -> String {
    let Some((new, from)) = after else {
        let old = before.as_ref().map_or("", |(old, _)| old);
        return format!("without {old}");
    };
    let from = match from.as_str() {
        "" => String::new(),
        from => format!(" from {from}"),
    };
    match before {
        None => format!("{new}{from}"),
        Some((old, whom)) if old == new => format!("{new}{from} instead of {whom}"),
        Some((old, _)) => format!("{new}{from} instead of {old}"),
    }
}

/// Changes for programs.
pub(super) fn changes_json(all: &[Change], show: &Show) -> Vec<Value> {
    let one = |change: &Change| {
        json!({
            "place": change.place,
            "before": pair(&change.before),
            "after": pair(&change.after),
            "mass_g": change.mass.map(|mass| mass.to_string()),
            "landed": change.landed.map(|landed| show.exact(landed)),
        })
    };
    all.iter().map(one).collect()
}

/// A part and its seller for programs.
pub(super) fn pair(side: &Side) -> Option<Value> {
    let (part, seller) = side.as_ref()?;
    Some(json!({"part": part, "seller": seller}))
}

fn nothing() -> String {
    "nothing".to_owned()
}

/// A difference of masses; what is not known is said.
fn grams(mass: Option<Grams>) -> Cell {
    mass.map_or_else(
        || Cell::text("unknown"),
        |mass| Cell::number(signed(&mass.to_string())),
    )
}

/// A difference of money.
fn moved(landed: Option<Dec>, show: &Show) -> Result<Cell, Overflow> {
    let Some(landed) = landed else {
        return Ok(Cell::text("unknown"));
    };
    Ok(more(show.rounded(landed)?, show))
}

/// A difference of money that is in the money shown.
fn more(amount: Dec, show: &Show) -> Cell {
    Cell::number(signed(&show.as_it_is().amount(amount)))
}

/// The differences of the whole between the build and the plan, in the money shown.
pub(super) struct Sums {
    /// Of the masses; none where one that changes is not known.
    pub(super) mass: Option<Grams>,
    /// Of the money.
    landed: Dec,
    /// Of the money, for the parts that stay.
    pub(super) others: Dec,
}

impl Sums {
    /// None where the build has no sum.
    pub(super) fn of(
        all: &[Change],
        plan: &Plan,
        build: Option<(Dec, Grams)>,
        show: &Show,
    ) -> Result<Option<Sums>, Overflow> {
        let Some((landed, mass)) = build else {
            return Ok(None);
        };
        let whole = show.difference(plan.landed, landed)?;
        let own = all.iter().filter_map(|change| change.landed);
        let own = own.map(|own| show.rounded(own));
        let own = Dec::total(own.collect::<Result<Vec<_>, _>>()?)?;
        Ok(Some(Sums {
            mass: (all.iter().all(|change| change.mass.is_some()))
                .then(|| plan.mass.minus(mass))
                .transpose()?,
            landed: whole,
            others: whole.minus(own)?,
        }))
    }

    /// The row of the other parts, where there is one, and the foot.
    fn below(&self, grid: &mut Grid, show: &Show) {
        let line = |name: &str, figures: [Cell; 2]| {
            let empty = vec![Cell::Empty; grid.header.len() - 3];
            let name = std::iter::once(Cell::text(name));
            name.chain(empty).chain(figures).collect::<Vec<Cell>>()
        };
        let others = line("Other parts", [Cell::Empty, more(self.others, show)]);
        let foot = line("Total", [grams(self.mass), more(self.landed, show)]);
        if !self.others.is_zero() {
            grid.rows.push(others);
        }
        grid.foot = Some(foot);
    }
}
