//! The frontier of `plan`: every plan that no other beats in both money and grams, beside the build and its limits.

use super::foot::Foot;
use super::naming::name_marks;
use super::palette::Thing;
use super::scatter::{Box4, Field, Mark, axes, clear, dots, field, frontier_line, square};
use super::sketch::{Hang, Picture, Shape, Sketch, width_of};
use crate::report::redact::Figures;
use crate::text::words::count;
use crate::units::{Dec, Grams, Overflow};

/// One plan of the frontier.
#[derive(Debug, Clone)]
pub(crate) struct PlanPoint {
    /// What it lands at.
    pub(crate) landed: Dec,
    /// What the bike weighs.
    pub(crate) mass: Grams,
    /// Nothing is both as light and cheaper.
    pub(crate) proven: bool,
    /// What changes from the plan before, which is the next lighter one.
    pub(crate) told: String,
}

/// The frontier, by ascending mass, with what it is held against.
#[derive(Debug, Clone, Default)]
pub(crate) struct Front {
    /// The plans.
    pub(crate) points: Vec<PlanPoint>,
    /// What the build lands at and weighs.
    pub(crate) build: Option<(Dec, Grams)>,
    /// The weight limit.
    pub(crate) max_mass: Option<Grams>,
    /// The budget.
    pub(crate) budget: Option<Dec>,
}

impl Front {
    /// The plan that keeps the limits: the cheapest within them.
    fn kept(&self) -> Option<usize> {
        let within = |point: &PlanPoint| {
            self.max_mass.is_none_or(|most| point.mass <= most)
                && self.budget.is_none_or(|most| point.landed <= most)
        };
        self.points.iter().rposition(within)
    }

    /// The names of some points: a picture has no room for those of all.
    fn name(&self, at: usize) -> String {
        let last = self.points.len() - 1;
        let limited = self.max_mass.is_some() || self.budget.is_some();
        let (kept, end) = (limited && self.kept() == Some(at), at == 0 || at == last);
        let end_name = if at == 0 { "lightest" } else { "cheapest" };
        match (kept, end) {
            (true, true) => format!("{end_name}, within limits"),
            (true, false) => "within limits".to_owned(),
            (false, true) => end_name.to_owned(),
            (false, false) => String::new(),
        }
    }

    fn marks(&self) -> Vec<Mark> {
        let point = |(at, point): (usize, &PlanPoint)| Mark {
            name: self.name(at),
            price: point.landed,
            mass: point.mass,
            build: false,
            frontier: true,
        };
        let build = self.build.map(|(price, mass)| Mark {
            name: "the build".to_owned(),
            price,
            mass,
            build: true,
            frontier: false,
        });
        let points = self.points.iter().enumerate().map(point);
        points.chain(build).collect()
    }

    /// Limits that lie not far beside the marks, which the field is widened for; others are not drawn.
    fn near_limits(&self, marks: &[Mark]) -> Result<Vec<Mark>, Overflow> {
        let Some(first) = marks.first() else {
            return Ok(Vec::new());
        };
        let near = |figures: Vec<Dec>, limit: Dec| -> Result<bool, Overflow> {
            let low = figures.iter().copied().min().unwrap_or(limit);
            let high = figures.iter().copied().max().unwrap_or(limit);
            let beside = high.minus(low)?.over(Dec::from(2_u32))?;
            Ok(limit >= low.minus(beside)? && limit <= high.plus(beside)?)
        };
        let mut found = Vec::new();
        if let Some(mass) = self.max_mass
            && near(marks.iter().map(|mark| mark.mass.0).collect(), mass.0)?
        {
            found.push(Mark {
                mass,
                ..first.clone()
            });
        }
        if let Some(price) = self.budget
            && near(marks.iter().map(|mark| mark.price).collect(), price)?
        {
            found.push(Mark {
                price,
                ..first.clone()
            });
        }
        Ok(found)
    }

    /// What the picture shows, as a heading: the plan within the limits, or where the plans begin and end.
    fn finding(&self, figures: &Figures) -> String {
        let round = |point: &PlanPoint| {
            let mass = point.mass.0.grouped(0);
            format!("{mass} g for {}", figures.show.whole(point.landed))
        };
        let limited = self.max_mass.is_some() || self.budget.is_some();
        let kept = self
            .kept()
            .and_then(|at| self.points.get(at))
            .filter(|_| limited);
        match (kept, self.points.first(), self.points.last()) {
            (Some(kept), ..) => format!("Cheapest plan within your limits: {}", round(kept)),
            (None, Some(first), Some(last)) => {
                format!("Plans from {} to {}", round(first), round(last))
            }
            _ => "The plans that no other beats".to_owned(),
        }
    }

    /// The picture in words.
    fn alt(&self, figures: &Figures) -> String {
        let told = |point: &PlanPoint| {
            let mass = point.mass.grouped();
            format!("{mass} g at {}", figures.money(point.landed))
        };
        let ends = match (self.points.first(), self.points.last()) {
            (Some(first), Some(last)) => format!(", from {} to {}", told(first), told(last)),
            _ => String::new(),
        };
        let plans = count(self.points.len(), "plan", "plans");
        format!(
            "Landed cost upwards, weight to the right: a disc for each of {plans} that no other beats in both{ends}; a square for the build as it stands."
        )
    }

    fn table(&self, figures: &Figures) -> (Vec<String>, Vec<Vec<String>>) {
        let header = [
            "plan, against the one before",
            "weight, g",
            "landed cost",
            "proven",
        ];
        let row = |point: &PlanPoint| {
            let proven = if point.proven { "yes" } else { "no" };
            vec![
                point.told.clone(),
                point.mass.grouped(),
                figures.amount(point.landed),
                proven.to_owned(),
            ]
        };
        let rows = self.points.iter().map(row).collect();
        (header.map(str::to_owned).to_vec(), rows)
    }
}

/// Draws it.
pub(crate) fn plans(
    front: &Front,
    figures: &Figures,
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let title = front.finding(figures);
    let mut sketch = Sketch::new(shape, &title, foot);
    let marks = front.marks();
    let near = front.near_limits(&marks)?;
    let field = field(&sketch, &[&marks[..], &near].concat(), None)?;
    axes(&mut sketch, &field, figures, ("landed cost", "weight, g"))?;
    let mut taken = limits(&mut sketch, &field, front)?;
    taken.extend(frontier_line(&mut sketch, &field, &marks)?);
    let dots = dots(&field, &marks, &mut taken)?;
    for (at, dot) in dots.iter().enumerate() {
        match (front.points.get(at), front.build) {
            (Some(point), _) => disc(&mut sketch, *dot, point, figures),
            (None, Some((landed, mass))) => {
                let said = format!("the build: {}, {} g", figures.money(landed), mass.grouped());
                square(&mut sketch, *dot, &said);
            }
            (None, None) => {}
        }
    }
    name_marks(&mut sketch, &field, &marks, &dots, &taken);
    let height = field.bottom + sketch.letter * 3;
    let (alt, table) = (front.alt(figures), front.table(figures));
    Ok(sketch.done("plans", title, alt, table, height))
}

/// A plan; one that is not proven has a hole.
fn disc(sketch: &mut Sketch, at: (i64, i64), point: &PlanPoint, figures: &Figures) {
    sketch.dot(at, 62, "paper");
    let (landed, mass) = (figures.money(point.landed), point.mass.grouped());
    let said = format!("{}: {landed}, {mass} g", point.told);
    sketch.mark(at, 50, Thing::Upgrade.class(), &said);
    if !point.proven {
        sketch.dot(at, 26, "paper");
    }
}

/// The limits as lines with their names, as far as they lie in the field. Returned is where they run.
fn limits(sketch: &mut Sketch, field: &Field, front: &Front) -> Result<Vec<Box4>, Overflow> {
    let size = sketch.letter;
    let mut taken = Vec::new();
    if let Some(most) = front.max_mass {
        let x = field.x.at(most.0)?;
        if x > field.left && x < field.right {
            sketch.line((x, field.top), (x, field.bottom), "line");
            let name = "weight limit";
            let width = width_of(name, size);
            let (at, hang) = if x + size / 2 + width < field.right {
                (x + size / 2, Hang::Start)
            } else {
                (x - size / 2, Hang::End)
            };
            let y = field.top + size;
            sketch.text((at, y), name, "faint", hang);
            let from = if hang == Hang::Start { at } else { at - width };
            taken.push((from, y - size, from + width, y + size / 4));
            taken.push((x - 25, field.top, x + 25, field.bottom));
        }
    }
    if let Some(most) = front.budget {
        let y = field.y.at(most)?;
        if y > field.top + size && y < field.bottom {
            sketch.line((field.left, y), (field.right, y), "line");
            let width = width_of("budget", size);
            let over = y - size / 3;
            let name = |right: i64| (right - width, over - size, right, y);
            let is_clear = |right: i64| taken.iter().all(|other| clear(name(right), *other));
            // left of the line of the other limit where that would go through the name
            let beside = taken.last().map_or(field.right, |line| line.0 - size / 3);
            let right = if is_clear(field.right) {
                field.right
            } else {
                beside
            };
            sketch.text((right, over), "budget", "faint", Hang::End);
            taken.push(name(right));
            taken.push((field.left, y - 25, field.right, y + 25));
        }
    }
    Ok(taken)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::Show;
    use crate::tables::TaxName;
    use crate::units::{Currency, Rate};

    fn drawn(front: &Front, shape: Shape) -> String {
        let show = Show {
            currency: Currency::GBP,
            rate: Rate::SAME,
            tax: TaxName::Vat,
        };
        let foot = Foot {
            facts: String::new(),
            basis: String::new(),
        };
        let figures = Figures { show, hidden: None };
        plans(front, &figures, shape, &foot).unwrap().file(true)
    }

    fn front(points: i64) -> Front {
        let point = |at: i64| PlanPoint {
            landed: Dec::from(3000 - 60 * at),
            mass: Grams(Dec::from(8000 + 70 * at)),
            proven: at != 1,
            told: format!("step {at}"),
        };
        Front {
            points: (0..points).map(point).collect(),
            build: Some((Dec::from(2990_i64), Grams(Dec::from(8400_i64)))),
            max_mass: Some(Grams(Dec::from(8150_i64))),
            budget: Some(Dec::from(2950_i64)),
        }
    }

    /// A disc for each plan, a hole in the one that is not proven, and the names on the sheet, in all shapes.
    #[test]
    fn points_limits_and_the_build_are_drawn_and_named() {
        for shape in [Shape::Wide, Shape::Square, Shape::Tall] {
            let picture = drawn(&front(6), shape);
            let document = roxmltree::Document::parse(&picture).unwrap();
            let of = |tag: &'static str| {
                (document.descendants()).filter(move |node| node.has_tag_name(tag))
            };
            let class = |class: &'static str| {
                of("circle").filter(move |node| node.attribute("class") == Some(class))
            };
            assert_eq!(class("c-upgrade").count(), 6);
            assert_eq!(class("paper").count(), 7, "one has a hole");
            let texts: Vec<&str> = of("text").filter_map(|node| node.text()).collect();
            for name in [
                "lightest",
                "within limits",
                "cheapest",
                "the build",
                "weight limit",
                "budget",
            ] {
                assert!(texts.contains(&name), "{name}: {texts:?}");
            }
        }
        // limits that are far away are not drawn, and do not press the plans together
        let far = Front {
            max_mass: Some(Grams(Dec::from(20_000_i64))),
            budget: Some(Dec::from(1_i64)),
            ..front(6)
        };
        let picture = drawn(&far, Shape::Wide);
        assert!(!picture.contains("weight limit") && !picture.contains(">budget<"));
    }
}
