//! Price against mass: the build, the complete bikes, the frontier through both, and the market line where it is known.

use super::axis::Axis;
use super::foot::Foot;
use super::palette::Thing;
use super::sketch::{Hang, Picture, Shape, Sketch, fitted, width_of};
use crate::report::redact::Figures;
use crate::units::{Dec, Grams, Overflow};

/// One bike in the picture.
#[derive(Debug, Clone)]
pub(crate) struct Mark {
    /// Its name.
    pub(crate) name: String,
    /// What it costs.
    pub(crate) price: Dec,
    /// What it weighs.
    pub(crate) mass: Grams,
    /// Whether it is the build.
    pub(crate) build: bool,
    /// Whether it is on the frontier.
    pub(crate) frontier: bool,
}

/// The market line: price at some masses, with its band; calculated elsewhere.
#[derive(Debug, Clone, Default)]
pub(crate) struct MarketLine {
    /// Mass, low, middle, high.
    pub(crate) points: Vec<(Grams, Dec, Dec, Dec)>,
}

/// A box that is taken: from left and top to right and bottom.
pub(super) type Box4 = (i64, i64, i64, i64);

/// Where marks are drawn, mass to the right and money upwards.
pub(super) struct Field {
    pub(super) x: Axis,
    pub(super) y: Axis,
    pub(super) left: i64,
    pub(super) right: i64,
    pub(super) top: i64,
    pub(super) bottom: i64,
}

/// Draws it.
pub(crate) fn scatter(
    marks: &[Mark],
    market: Option<&MarketLine>,
    figures: &Figures,
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let title = "Price against mass".to_owned();
    let mut sketch = Sketch::new(shape, &title, foot);
    let field = field(&sketch, marks, market)?;
    axes(&mut sketch, &field, figures, "price")?;
    if let Some(line) = market {
        market_line(&mut sketch, &field, line)?;
    }
    let mut taken = frontier_line(&mut sketch, &field, marks)?;
    if let Some(line) = market {
        taken.extend(market_name(&mut sketch, &field, line)?);
    }
    let dots = dots(&field, marks, &mut taken)?;
    let mut ordered: Vec<&Mark> = marks.iter().collect();
    ordered.sort_by(|a, b| b.build.cmp(&a.build).then(a.name.cmp(&b.name)));
    for mark in ordered {
        draw_mark(&mut sketch, &field, mark, &dots, &mut taken)?;
    }
    let header = ["bike", "price", "mass, g", "on the frontier"]
        .map(str::to_owned)
        .to_vec();
    let row = |m: &Mark| {
        vec![
            m.name.clone(),
            figures.amount(m.price),
            m.mass.grouped(),
            if m.frontier { "yes" } else { "no" }.to_owned(),
        ]
    };
    let table = marks.iter().map(row).collect();
    let on: Vec<&str> = marks
        .iter()
        .filter(|m| m.frontier)
        .map(|m| m.name.as_str())
        .collect();
    let band = if market.is_some() {
        "; a line for what the market asks at a mass, with the band in which 95 of 100 bikes would lie"
    } else {
        ""
    };
    let alt = format!(
        "Price upwards, mass to the right; a square for the build, a disc for each complete bike{band}; nothing is both cheaper and lighter than {}.",
        crate::text::words::list(&on, "and")
    );
    let height = field.bottom + sketch.letter * 3;
    Ok(sketch.done("price-mass", title, alt, (header, table), height))
}

/// The field, with some air around the marks.
pub(super) fn field(
    sketch: &Sketch,
    marks: &[Mark],
    market: Option<&MarketLine>,
) -> Result<Field, Overflow> {
    let lines = || market.iter().flat_map(|m| &m.points);
    let masses: Vec<Dec> = marks
        .iter()
        .map(|m| m.mass.0)
        .chain(lines().map(|p| p.0.0))
        .collect();
    let prices: Vec<Dec> = marks
        .iter()
        .map(|m| m.price)
        .chain(lines().map(|p| p.2))
        .collect();
    let ends = |all: &[Dec]| -> Result<(Dec, Dec), Overflow> {
        let (low, high) = (
            all.iter().min().copied().unwrap_or(Dec::ZERO),
            all.iter().max().copied().unwrap_or(Dec::ONE),
        );
        let span = high.minus(low)?;
        let air = if span.is_positive() {
            span.over(Dec::from(7_u32))?
        } else {
            high.over(Dec::from(10_u32))?.max(Dec::ONE)
        };
        Ok((low.minus(air)?, high.plus(air)?))
    };
    let ((x0, x1), (y0, y1)) = (ends(&masses)?, ends(&prices)?);
    let left = sketch.margin() + sketch.letter * 5;
    let right = sketch.width - sketch.margin();
    let top = sketch.top + sketch.letter * 2;
    let bottom = sketch
        .bottom
        .map_or(2500, |bottom| bottom - sketch.letter * 11 / 4);
    Ok(Field {
        x: Axis::new(x0, x1, left, right)?,
        y: Axis::new(y0.max(Dec::ZERO), y1, bottom, top)?,
        left,
        right,
        top,
        bottom,
    })
}

/// Where marks are, each of which takes its room.
pub(super) fn dots(
    field: &Field,
    marks: &[Mark],
    taken: &mut Vec<Box4>,
) -> Result<Vec<(i64, i64)>, Overflow> {
    let at = |mark: &Mark| Ok((field.x.at(mark.mass.0)?, field.y.at(mark.price)?));
    let dots = marks.iter().map(at).collect::<Result<Vec<_>, Overflow>>()?;
    taken.extend(dots.iter().map(|(x, y)| (x - 80, y - 80, x + 80, y + 80)));
    Ok(dots)
}

/// The build's own mark.
pub(super) fn square(sketch: &mut Sketch, (x, y): (i64, i64)) {
    sketch.rect((x - 72, y - 72), (144, 144), Thing::Build.class());
}

/// Whether two boxes have nothing in common.
pub(super) fn clear(one: Box4, other: Box4) -> bool {
    one.2 < other.0 || one.0 > other.2 || one.3 < other.1 || one.1 > other.3
}

/// The axes with their figures; `money` is what is drawn upwards.
pub(super) fn axes(
    sketch: &mut Sketch,
    field: &Field,
    figures: &Figures,
    money: &str,
) -> Result<(), Overflow> {
    let size = sketch.letter;
    for mark in field.y.marks(5)? {
        let y = field.y.at(mark)?;
        sketch.line((field.left, y), (field.right, y), "rule");
        let label = if figures.hidden.is_some() {
            figures.amount(mark)
        } else {
            figures.show.round(mark)
        };
        sketch.text(
            (field.left - size / 2, y + size * 7 / 20),
            &label,
            "faint",
            Hang::End,
        );
    }
    for mark in field.x.marks(4)? {
        let x = field.x.at(mark)?;
        sketch.line((x, field.bottom), (x, field.bottom + size / 3), "line");
        let label = mark.grouped(0);
        let spills = x + width_of(&label, size) / 2 > sketch.width;
        let (at, hang) = if spills {
            (sketch.width, Hang::End)
        } else {
            (x, Hang::Middle)
        };
        sketch.text((at, field.bottom + size * 3 / 2), &label, "faint", hang);
    }
    sketch.line(
        (field.left, field.bottom),
        (field.right, field.bottom),
        "line",
    );
    let price = if figures.hidden.is_some() {
        format!("{money}, as a share of the build's")
    } else {
        format!("{money}, {}", figures.show.currency)
    };
    sketch.text(
        (sketch.margin(), field.top - size),
        &price,
        "faint",
        Hang::Start,
    );
    sketch.text(
        (field.right, field.bottom + size * 11 / 4),
        "mass, g",
        "faint",
        Hang::End,
    );
    Ok(())
}

fn market_line(sketch: &mut Sketch, field: &Field, line: &MarketLine) -> Result<(), Overflow> {
    // The band is wide at its ends; what lies outside the field is cut off.
    let inside = |y: i64| y.clamp(field.top, field.bottom);
    let mut over = String::new();
    let mut under = Vec::new();
    let mut middle = String::new();
    for (at, (mass, low, mid, high)) in line.points.iter().enumerate() {
        let x = field.x.at(mass.0)?;
        let go = if at == 0 { "M" } else { "L" };
        over.push_str(&format!("{go}{x} {}", inside(field.y.at(*high)?)));
        middle.push_str(&format!("{go}{x} {}", field.y.at(*mid)?));
        under.push(format!("L{x} {}", inside(field.y.at(*low)?)));
    }
    under.reverse();
    sketch.path(&format!("{over}{}Z", under.concat()), "band");
    sketch.path(&middle, "rule");
    Ok(())
}

/// The market's name over its band, where that has begun to fall; returned is where it stands.
fn market_name(
    sketch: &mut Sketch,
    field: &Field,
    line: &MarketLine,
) -> Result<Option<Box4>, Overflow> {
    let Some((mass, _, _, high)) = line.points.get(line.points.len() * 2 / 5) else {
        return Ok(None);
    };
    let (x, y, size) = (
        field.x.at(mass.0)?,
        (field.y.at(*high)? - sketch.letter / 2).max(field.top + sketch.letter),
        sketch.letter,
    );
    sketch.text((x, y), "what the market asks", "faint", Hang::Start);
    Ok(Some((
        x,
        y - size,
        x + width_of("what the market asks", size),
        y + size / 4,
    )))
}

/// Steps through the bikes that nothing beats, from the lightest to the cheapest.
/// Returned is where it runs, which names must leave free.
pub(super) fn frontier_line(
    sketch: &mut Sketch,
    field: &Field,
    marks: &[Mark],
) -> Result<Vec<Box4>, Overflow> {
    let mut on: Vec<&Mark> = marks.iter().filter(|m| m.frontier).collect();
    on.sort_by(|a, b| a.mass.cmp(&b.mass).then(a.price.cmp(&b.price)));
    let mut d = String::new();
    let mut runs = Vec::new();
    let mut last: Option<(i64, i64)> = None;
    for mark in &on {
        let (x, y) = (field.x.at(mark.mass.0)?, field.y.at(mark.price)?);
        let (from, over) = last.unwrap_or((x, field.top));
        runs.extend([(from, over - 25, x, over + 25), (x - 25, over, x + 25, y)]);
        last = Some((x, y));
        if d.is_empty() {
            d.push_str(&format!("M{x} {}V{y}", field.top));
        } else {
            d.push_str(&format!("H{x}V{y}"));
        }
    }
    if !d.is_empty() {
        sketch.path(&format!("{d}H{}", field.right), "line dash");
    }
    runs.extend(last.map(|(x, y)| (x, y - 25, field.right, y + 25)));
    Ok(runs)
}

/// Where a name hangs: from which point, and to which side.
type Location = (i64, i64, Hang);

/// A mark that is to have its name, with what is around it.
struct Naming<'a> {
    field: &'a Field,
    /// The middle of the mark.
    at: (i64, i64),
    size: i64,
    dots: &'a [(i64, i64)],
    taken: &'a [Box4],
}

impl Naming<'_> {
    /// The vertical position of the line of text that is a number of lines under the mark.
    fn down(&self, lines: i64) -> i64 {
        self.at.1 + self.size * 7 / 20 + lines * self.size * 5 / 4
    }

    /// The places that are tried, the nearest first.
    fn tries(&self) -> impl Iterator<Item = Location> {
        let x = self.at.0;
        let lines = [0, -1, 1, -2, 2, -3, 3, -4, 4, -5, 5];
        lines.into_iter().flat_map(move |lines| {
            let gap = if lines == 0 { 130 } else { 60 };
            let y = self.down(lines);
            let far = self.size * 4;
            let beside = [(x + gap, y, Hang::Start), (x - gap, y, Hang::End)];
            let farther = [(x + far, y, Hang::Start), (x - far, y, Hang::End)];
            let farther = farther.into_iter().filter(move |_| lines != 0);
            beside.into_iter().chain(farther)
        })
    }

    /// Whether a name lies within the sides of the field.
    fn is_inside(&self, place: &Location, width: i64) -> bool {
        let (from, to) = span(place, width);
        to < self.field.right && from > self.field.left
    }

    /// Whether a name needs a line that leads to it.
    fn is_far(&self, place: &Location) -> bool {
        (place.1 - self.down(0)).abs() > self.size * 2
    }

    /// Whether the line to a name, where it needs one, touches no other mark. Marks that lie on this one are touched by any.
    fn is_led(&self, place: &Location) -> bool {
        let (x, y) = self.at;
        let (to_x, to_y) = (place.0 - x, place.1 - self.size * 7 / 20 - y);
        let mut on_the_way = (1..=16).map(|step| (x + to_x * step / 16, y + to_y * step / 16));
        let others = || self.dots.iter().filter(|dot| apart(self.at, **dot, 140));
        !self.is_far(place) || on_the_way.all(|point| others().all(|dot| apart(point, *dot, 75)))
    }

    /// Whether nothing stands where a name would.
    fn is_free(&self, place: &Location, width: i64) -> bool {
        let (from, to) = span(place, width);
        let (over, under) = (place.1 - self.size, place.1 + self.size / 4);
        let is_clear = |other: &Box4| clear((from, over, to, under), *other);
        self.is_inside(place, width)
            && over > self.field.top - self.size
            && under < self.field.bottom
            && self.taken.iter().all(is_clear)
    }

    /// Which of the names, the longest first, has a place, and where.
    fn find(&self, widths: [i64; 3]) -> Option<(usize, Location)> {
        let first = |fits: &dyn Fn(&Location, i64) -> bool| {
            let of = |at: usize| Some((at, self.tries().find(|place| fits(place, widths[at]))?));
            (0..3).find_map(of)
        };
        first(&|place, width| self.is_free(place, width) && self.is_led(place))
            .or_else(|| first(&|place, width| self.is_free(place, width)))
            .or_else(|| {
                let inside = |place: &Location| self.is_inside(place, widths[2]);
                Some((2, self.tries().find(inside)?))
            })
    }
}

/// From where to where a name reaches.
fn span(place: &Location, width: i64) -> (i64, i64) {
    if place.2 == Hang::Start {
        (place.0, place.0 + width)
    } else {
        (place.0 - width, place.0)
    }
}

/// A mark with its name where that is free, whole where there is room; a line leads to a name that stands far off, and to no
/// other mark on the way.
fn draw_mark(
    sketch: &mut Sketch,
    field: &Field,
    mark: &Mark,
    dots: &[(i64, i64)],
    taken: &mut Vec<Box4>,
) -> Result<(), Overflow> {
    let (x, y) = (field.x.at(mark.mass.0)?, field.y.at(mark.price)?);
    if mark.build {
        square(sketch, (x, y));
    } else {
        sketch.dot((x, y), 66, Thing::Bike.class());
    }
    name_mark(sketch, field, mark, (x, y), dots, taken);
    Ok(())
}

/// The name alone of a mark at a point; one without a name has none.
pub(super) fn name_mark(
    sketch: &mut Sketch,
    field: &Field,
    mark: &Mark,
    (x, y): (i64, i64),
    dots: &[(i64, i64)],
    taken: &mut Vec<Box4>,
) {
    if mark.name.is_empty() {
        return;
    }
    let size = sketch.letter;
    let room = field.right - field.left;
    let names = [room, room / 2, room / 3].map(|most| fitted(&mark.name, most, size));
    let widths = names.each_ref().map(|name| width_of(name, size));
    let naming = Naming {
        field,
        at: (x, y),
        size,
        dots,
        taken,
    };
    let Some((at, place)) = naming.find(widths) else {
        return;
    };
    let is_far = naming.is_far(&place);
    let (from, to) = span(&place, widths[at]);
    taken.push((from, place.1 - size, to, place.1 + size / 4));
    if is_far {
        let end = if place.2 == Hang::Start { from } else { to };
        sketch.line((x, y), (end, place.1 - size * 7 / 20), "rule");
    }
    let class = if mark.build { "ink bold" } else { "ink" };
    sketch.text((place.0, place.1), &names[at], class, place.2);
}

/// Whether two points are at least so far from one another.
fn apart(one: (i64, i64), other: (i64, i64), distance: i64) -> bool {
    (one.0 - other.0).pow(2) + (one.1 - other.1).pow(2) >= distance.pow(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::Show;
    use crate::tables::TaxName;
    use crate::units::{Currency, Rate};

    /// Bikes so near to one another, in rows and in columns, that lines must lead to some of their names.
    #[test]
    fn no_line_to_a_name_touches_another_mark() {
        let show = Show {
            currency: Currency::parse("GBP").unwrap(),
            rate: Rate::SAME,
            tax: TaxName::Vat,
        };
        let foot = Foot {
            facts: String::new(),
            basis: String::new(),
        };
        let mut lines_seen = 0;
        for (grams, pounds) in (-6..=6_i64)
            .flat_map(|x| (0..=6_i64).map(move |y| (x * 60, y * 45)))
            .filter(|step| *step != (0, 0))
        {
            let mark = |at: i64| Mark {
                name: format!("Bike by its long name {at}"),
                price: Dec::from(1200 + at * pounds),
                mass: Grams(Dec::from(9000 + at * grams)),
                build: at == 0,
                frontier: false,
            };
            let far = |at: i64| Mark {
                price: Dec::from(3000 * at),
                mass: Grams(Dec::from(7000 + 4000 * at)),
                ..mark(9)
            };
            let marks: Vec<Mark> = (0..10).map(mark).chain([far(0), far(1)]).collect();
            let drawn = scatter(
                &marks,
                None,
                &Figures { show, hidden: None },
                Shape::Square,
                &foot,
            )
            .unwrap()
            .file(true);
            let document = roxmltree::Document::parse(&drawn).unwrap();
            let number = |node: &roxmltree::Node<'_, '_>, name: &str| {
                node.attribute(name).unwrap().parse::<i64>().unwrap()
            };
            let of = |tag: &'static str| {
                document
                    .descendants()
                    .filter(move |node| node.has_tag_name(tag))
            };
            let names =
                of("text").filter(|text| text.text().is_some_and(|name| name.starts_with("Bike")));
            assert_eq!(names.count(), marks.len(), "each has a name");
            let dots: Vec<(i64, i64)> = of("circle")
                .map(|dot| (number(&dot, "cx"), number(&dot, "cy")))
                .collect();
            let lines =
                of("line").map(|line| ["x1", "y1", "x2", "y2"].map(|name| number(&line, name)));
            for [x, y, to_x, to_y] in lines.filter(|[x, y, ..]| dots.contains(&(*x, *y))) {
                lines_seen += 1;
                for step in 0..=100 {
                    let point = (x + (to_x - x) * step / 100, y + (to_y - y) * step / 100);
                    let hit = dots
                        .iter()
                        .find(|dot| apart((x, y), **dot, 140) && !apart(point, **dot, 66));
                    assert_eq!(
                        hit, None,
                        "the line from {x}, {y} to {to_x}, {to_y}, {grams} g and {pounds} pounds apart"
                    );
                }
            }
        }
        assert!(lines_seen > 100, "{lines_seen} lines");
    }
}
