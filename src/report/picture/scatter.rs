//! Price against mass: the build, the complete bikes, the frontier through both, and the market line where it is known.

use super::axis::Axis;
use super::foot::Foot;
use super::naming::name_marks;
use super::palette::Thing;
use super::sketch::{Hang, Picture, Shape, Sketch, width_of};
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
    title: &str,
    (shape, foot): (Shape, &Foot),
) -> Result<Picture, Overflow> {
    let mut sketch = Sketch::new(shape, title, foot);
    let field = field(&sketch, marks, market)?;
    axes(&mut sketch, &field, figures, ("price", "weight, g"))?;
    if let Some(line) = market {
        market_line(&mut sketch, &field, line)?;
    }
    let mut taken = frontier_line(&mut sketch, &field, marks)?;
    if let Some(line) = market {
        taken.extend(market_name(&mut sketch, &field, line)?);
    }
    let dots = dots(&field, marks, &mut taken)?;
    for (mark, at) in marks.iter().zip(&dots) {
        let price = figures.money(mark.price);
        let said = format!("{}: {price}, {} g", mark.name, mark.mass.grouped());
        if mark.build {
            square(&mut sketch, *at, &said);
        } else {
            sketch.mark(*at, 66, Thing::Bike.class(), &said);
        }
    }
    name_marks(&mut sketch, &field, marks, &dots, &taken);
    let header = ["bike", "price", "weight, g", "on the frontier"]
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
    Ok(sketch.done("price-mass", title.to_owned(), alt, (header, table), height))
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
        let under = low.minus(air)?;
        // What is never below zero needs no room there.
        let under = if low.is_negative() {
            under
        } else {
            under.max(Dec::ZERO)
        };
        Ok((under, high.plus(air)?))
    };
    let ((x0, x1), (y0, y1)) = (ends(&masses)?, ends(&prices)?);
    let left = sketch.margin() + sketch.letter * 5;
    let right = sketch.width - sketch.margin();
    let top = sketch.top + sketch.letter * 2;
    let bottom = sketch
        .bottom
        .map_or(2700, |bottom| bottom - sketch.letter * 11 / 4);
    Ok(Field {
        x: Axis::new(x0, x1, left, right)?,
        y: Axis::new(y0, y1, bottom, top)?,
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
pub(super) fn square(sketch: &mut Sketch, (x, y): (i64, i64), said: &str) {
    sketch.segment((x - 72, y - 72), (144, 144), Thing::Build.class(), said);
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
    (money, grams): (&str, &str),
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
        grams,
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

#[cfg(test)]
mod tests {
    use super::super::naming::{apart, name_box, off};
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
                "",
                (Shape::Square, &foot),
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

    /// Numbers that look like chance and are the same every time.
    struct Dice(u64);

    impl Dice {
        fn below(&mut self, most: u64) -> i64 {
            self.0 = self
                .0
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            i64::try_from((self.0 >> 33) % most).unwrap()
        }
    }

    /// Crowds of three to fourteen bikes, most of them around a few masses and prices, as bikes of one kind are.
    fn crowd(dice: &mut Dice) -> Vec<Mark> {
        let middles = [0, 1, 2].map(|_| (8_000 + dice.below(2_500), 1_500 + dice.below(3_500)));
        let spread = 60 + dice.below(900);
        (0..3 + dice.below(12))
            .map(|at| {
                let (grams, pounds) = middles[usize::try_from(dice.below(3)).unwrap()];
                let around = u64::try_from(spread).unwrap();
                Mark {
                    name: format!("N{at:02} by a name"),
                    price: Dec::from(pounds + dice.below(around)),
                    mass: Grams(Dec::from(grams + dice.below(around))),
                    build: at == 0,
                    frontier: at % 4 == 0,
                }
            })
            .collect()
    }

    /// In sixty crowds, in all shapes: a name is nearest to its own mark or a line in ink leads from that to it, no name lies on
    /// another or beyond the sheet, and few marks are left without a name.
    #[test]
    fn every_name_is_read_as_its_own_mark_s() {
        let show = Show {
            currency: Currency::parse("GBP").unwrap(),
            rate: Rate::SAME,
            tax: TaxName::Vat,
        };
        let figures = Figures { show, hidden: None };
        let (mut dice, mut named, mut all) = (Dice(20_261_130), 0, 0);
        for run in 0..60 {
            let marks = crowd(&mut dice);
            for shape in [Shape::Page, Shape::Wide, Shape::Square, Shape::Tall] {
                let drawn = scatter(&marks, None, &figures, "", (shape, &Foot::default()));
                let drawn = drawn.unwrap().file(true);
                named += read_right(&drawn, shape, run);
                all += marks.len();
            }
        }
        assert!(
            all > 1_500 && named * 100 >= all * 97,
            "{named} of {all} have a name"
        );
    }

    /// How many names a picture has, each of which is looked at.
    fn read_right(drawn: &str, shape: Shape, run: i32) -> usize {
        let document = roxmltree::Document::parse(drawn).unwrap();
        let number = |node: &roxmltree::Node<'_, '_>, name: &str| {
            node.attribute(name).unwrap().parse::<i64>().unwrap()
        };
        let mut dots: Vec<(String, (i64, i64))> = Vec::new();
        for group in document.descendants().filter(|node| node.has_tag_name("g")) {
            let name = group.attribute("aria-label").unwrap()[..3].to_owned();
            let at = group
                .children()
                .find_map(|shape| match shape.tag_name().name() {
                    "circle" => Some((number(&shape, "cx"), number(&shape, "cy"))),
                    "rect" => Some((number(&shape, "x") + 72, number(&shape, "y") + 72)),
                    _ => None,
                });
            dots.push((name, at.unwrap()));
        }
        let lines: Vec<[i64; 4]> = document
            .descendants()
            .filter(|node| node.attribute("class") == Some("leader"))
            .map(|line| ["x1", "y1", "x2", "y2"].map(|name| number(&line, name)))
            .collect();
        let mut names: Vec<Box4> = Vec::new();
        for text in document
            .descendants()
            .filter(|node| node.has_tag_name("text"))
        {
            let words = text.text().unwrap_or_default();
            let Some((own, at)) = dots
                .iter()
                .find(|(name, _)| words.starts_with(name.as_str()))
            else {
                continue;
            };
            let size = number(&text, "font-size");
            let hang = match text.attribute("text-anchor") {
                Some("end") => Hang::End,
                Some("middle") => Hang::Middle,
                _ => Hang::Start,
            };
            let place = (number(&text, "x"), number(&text, "y"), hang);
            let taken = name_box(&place, width_of(words, size), size);
            let nearest = dots
                .iter()
                .all(|(name, dot)| name == own || dot == at || off(taken, *dot) > off(taken, *at));
            let led = lines.iter().any(|[x, y, to_x, to_y]| {
                (*x, *y) == *at && off(taken, (*to_x, *to_y)) <= 20_i64.pow(2)
            });
            assert!(
                nearest || led,
                "crowd {run}, {shape:?}: {words} is at another mark"
            );
            assert!(
                taken.0 >= 0 && taken.2 <= shape.units().0 && taken.1 >= 0,
                "crowd {run}, {shape:?}: {words} is cut off"
            );
            assert!(
                names.iter().all(|other| clear(taken, *other)),
                "crowd {run}, {shape:?}: {words} lies on another name"
            );
            names.push(taken);
        }
        names.len()
    }
}
