//! The sheet a picture is drawn on: shapes in whole units, text that knows about how wide it is.

use maud::{Markup, PreEscaped, html};

use super::foot::Foot;
use super::palette;
use crate::report::mark::{MADE_BY, seal_picture};
use crate::text::visible;

/// What a picture is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    /// For the page, which gives title and foot itself; as high as it needs.
    Page,
    /// 1920 by 1080.
    Wide,
    /// 1080 by 1080.
    Square,
    /// 1080 by 1920.
    Tall,
}

impl Shape {
    /// By its name on the command line.
    pub(crate) fn parse(name: &str) -> Option<Shape> {
        [
            ("wide", Shape::Wide),
            ("square", Shape::Square),
            ("tall", Shape::Tall),
        ]
        .into_iter()
        .find(|(n, _)| *n == name)
        .map(|(_, s)| s)
    }

    /// Its size in pixels.
    pub(crate) fn pixels(self) -> (u32, u32) {
        match self {
            Shape::Page | Shape::Square => (1080, 1080),
            Shape::Wide => (1920, 1080),
            Shape::Tall => (1080, 1920),
        }
    }

    /// Its size in units; the height of a picture on the page is what it needs.
    pub(super) fn units(self) -> (i64, Option<i64>) {
        match self {
            Shape::Page => (4000, None),
            Shape::Wide => (5334, Some(3000)),
            Shape::Square => (4000, Some(4000)),
            Shape::Tall => (4000, Some(7111)),
        }
    }

    /// The height of lettering: 11 to 15 pixels where the picture is 300 to 400 wide.
    pub(super) fn letter(self) -> i64 {
        match self {
            Shape::Page | Shape::Tall => 150,
            Shape::Square => 128,
            Shape::Wide => 155,
        }
    }
}

/// A picture, ready to be put on a page or into a file.
#[derive(Debug, Clone)]
pub(crate) struct Picture {
    /// For file names and anchors: `by-part`.
    pub(crate) name: String,
    /// What it shows, as a heading.
    pub(crate) title: String,
    /// What it says, for those who do not see it.
    pub(crate) alt: String,
    /// The same as a table: header, rows.
    pub(crate) table: (Vec<String>, Vec<Vec<String>>),
    pub(super) shape: Shape,
    pub(super) height: i64,
    pub(super) body: Markup,
}

impl Picture {
    /// As part of a page, which gives the colours.
    pub(crate) fn inline(&self) -> Markup {
        let (width, _) = self.shape.units();
        html! {
            svg viewBox=(format!("0 0 {width} {}", self.height)) role="group" aria-label=(self.alt) { (self.body) }
        }
    }

    /// As a file of its own, with colours for light paper and, unless `light_alone`, for dark.
    pub(crate) fn file(&self, light_alone: bool) -> String {
        let (width, height) = self.shape.pixels();
        let (units, _) = self.shape.units();
        let svg = html! {
            svg xmlns="http://www.w3.org/2000/svg" width=(width) height=(height) viewBox=(format!("0 0 {units} {}", self.height)) role="img" aria-label=(self.alt) {
                title { (self.title) }
                metadata { (MADE_BY) }
                style { (PreEscaped(palette::style(light_alone))) }
                rect class="paper" width=(units) height=(self.height) {}
                (self.body)
            }
        };
        seal_picture(visible(&svg.into_string()).into_owned() + "\n")
    }
}

/// Where a text hangs on its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hang {
    Start,
    Middle,
    End,
}

/// The sheet.
pub(super) struct Sketch {
    pub(super) shape: Shape,
    pub(super) width: i64,
    /// Where the drawing may begin, under the title.
    pub(super) top: i64,
    /// Where it must end, above the foot; none on the page.
    pub(super) bottom: Option<i64>,
    pub(super) letter: i64,
    items: Vec<Markup>,
}

impl Sketch {
    /// A sheet with its title and foot.
    pub(super) fn new(shape: Shape, title: &str, foot: &Foot) -> Sketch {
        let (width, height) = shape.units();
        let letter = shape.letter();
        let mut sketch = Sketch {
            shape,
            width,
            top: letter / 2,
            bottom: None,
            letter,
            items: Vec::new(),
        };
        if let Some(height) = height {
            let margin = sketch.margin();
            let mut y = margin + letter;
            let large = title_size(title, width - 2 * margin, shape);
            for line in wrap(title, width - 2 * margin, large) {
                sketch.text_sized((margin, y), &line, "ink bold", Hang::Start, large);
                y += large * 5 / 4;
            }
            sketch.top = y - letter / 2;
            let small = (letter * 3 / 4).max(110);
            let lines: Vec<String> = foot
                .lines()
                .iter()
                .flat_map(|line| wrap(line, width - 2 * margin, small))
                .collect();
            let start = height - margin + small / 2
                - (i64::try_from(lines.len()).unwrap_or(2) - 1) * small * 5 / 4;
            sketch.line(
                (margin, start - small * 3 / 2),
                (width - margin, start - small * 3 / 2),
                "rule",
            );
            for (at, line) in (0..).zip(&lines) {
                sketch.text_sized(
                    (margin, start + at * small * 5 / 4),
                    line,
                    "faint",
                    Hang::Start,
                    small,
                );
            }
            sketch.bottom = Some(start - small * 5 / 2);
            if shape == Shape::Wide {
                sketch.letter = letter * 4 / 5;
            }
        }
        sketch
    }

    /// The margin left and right.
    pub(super) fn margin(&self) -> i64 {
        if self.shape == Shape::Page { 20 } else { 200 }
    }

    /// The height of lettering that stands back; on the page none is smaller than the rest, which is read on a phone.
    pub(super) fn small(&self) -> i64 {
        if self.shape == Shape::Page {
            self.letter
        } else {
            self.letter * 9 / 10
        }
    }

    pub(super) fn rect(&mut self, at: (i64, i64), size: (i64, i64), class: &str) {
        if size.0 > 0 && size.1 > 0 {
            self.items.push(
                html! { rect x=(at.0) y=(at.1) width=(size.0) height=(size.1) class=(class) {} },
            );
        }
    }

    /// A rectangle that says what it is to whoever points at it or comes to it with the keyboard.
    pub(super) fn segment(&mut self, at: (i64, i64), size: (i64, i64), class: &str, said: &str) {
        if size.0 > 0 && size.1 > 0 {
            self.items.push(html! {
                g tabindex="0" role="img" aria-label=(said) {
                    title { (said) }
                    rect x=(at.0) y=(at.1) width=(size.0) height=(size.1) class=(class) {}
                }
            });
        }
    }

    /// A dot that says what it is.
    pub(super) fn mark(&mut self, at: (i64, i64), r: i64, class: &str, said: &str) {
        self.items.push(html! {
            g tabindex="0" role="img" aria-label=(said) {
                title { (said) }
                circle cx=(at.0) cy=(at.1) r=(r) class=(class) {}
            }
        });
    }

    pub(super) fn line(&mut self, from: (i64, i64), to: (i64, i64), class: &str) {
        self.items
            .push(html! { line x1=(from.0) y1=(from.1) x2=(to.0) y2=(to.1) class=(class) {} });
    }

    pub(super) fn path(&mut self, d: &str, class: &str) {
        self.items.push(html! { path d=(d) class=(class) {} });
    }

    pub(super) fn dot(&mut self, at: (i64, i64), r: i64, class: &str) {
        self.items
            .push(html! { circle cx=(at.0) cy=(at.1) r=(r) class=(class) {} });
    }

    pub(super) fn text(&mut self, at: (i64, i64), text: &str, class: &str, hang: Hang) {
        self.text_sized(at, text, class, hang, self.letter);
    }

    pub(super) fn text_sized(
        &mut self,
        at: (i64, i64),
        text: &str,
        class: &str,
        hang: Hang,
        size: i64,
    ) {
        let anchor = match hang {
            Hang::Start => None,
            Hang::Middle => Some("middle"),
            Hang::End => Some("end"),
        };
        self.items.push(html! { text x=(at.0) y=(at.1) font-size=(size) class=(class) text-anchor=[anchor] { (text) } });
    }

    /// Puts the picture together; `height` is where the drawing ended.
    pub(super) fn done(
        self,
        name: &str,
        title: String,
        alt: String,
        table: (Vec<String>, Vec<Vec<String>>),
        height: i64,
    ) -> Picture {
        let height = self.shape.units().1.unwrap_or(height);
        let body = html! { @for item in &self.items { (item) "\n" } };
        Picture {
            name: name.to_owned(),
            title,
            alt,
            table,
            shape: self.shape,
            height,
            body,
        }
    }
}

/// How large a title is set: smaller where it would take more lines than a sheet can spare. A wide one can spare one alone.
fn title_size(title: &str, width: i64, shape: Shape) -> i64 {
    let letter = shape.letter();
    let most = match shape {
        Shape::Wide => 1,
        Shape::Square => 2,
        Shape::Page | Shape::Tall => 3,
    };
    let mut size = letter * 7 / 5;
    while size > letter && wrap(title, width, size).len() > most {
        size -= letter / 20;
    }
    size
}

/// About how wide a text is, in units, set at a size; a little more rather than less.
pub(super) fn width_of(text: &str, size: i64) -> i64 {
    let share = |c: char| match c {
        'i' | 'l' | 'j' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | 'I' | '(' | ')' => 32,
        'f' | 't' | 'r' | ' ' | '-' => 37,
        'm' | 'w' | 'M' | 'W' | '@' | '%' => 90,
        '0'..='9' => 62,
        c if c.is_uppercase() => 67,
        c if u32::from(c) > 0x1100 => 100,
        _ => 56,
    };
    text.chars().map(share).sum::<i64>() * size / 100
}

/// A text that fits a width, cut with an ellipsis.
pub(super) fn fitted(text: &str, width: i64, size: i64) -> String {
    if width_of(text, size) <= width {
        return text.to_owned();
    }
    let mut kept = String::new();
    for c in text.chars() {
        if width_of(&kept, size) + width_of("m…", size) > width {
            break;
        }
        kept.push(c);
    }
    format!("{}…", kept.trim_end())
}

/// A text in lines of at most a width.
pub(super) fn wrap(text: &str, width: i64, size: i64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if width_of(&format!("{line} {word}"), size) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
