//! A picture as PNG, with the lettering that is shipped, and where that has no letter for a text, with fonts that are handed in.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};
use ttf_parser::{Face, OutlineBuilder, fonts_in_collection};

use super::sketch::Picture;
use crate::report::mark::mark_png;
use crate::text::is_unseen;

const REGULAR: &[u8] = include_bytes!("lettering/regular.otf");
const BOLD: &[u8] = include_bytes!("lettering/bold.otf");

/// What texts are drawn with.
pub(crate) struct Lettering(Arc<fontdb::Database>);

impl Lettering {
    /// The shipped lettering first, then these fonts for the letters it has not.
    pub(crate) fn with(others: Vec<Vec<u8>>) -> Lettering {
        let mut fonts = fontdb::Database::new();
        [REGULAR.to_vec(), BOLD.to_vec()]
            .into_iter()
            .chain(others)
            .for_each(|font| fonts.load_font_data(font));
        Lettering(Arc::new(fonts))
    }
}

/// The bytes of a PNG file; the error says what the drawing is not.
pub(crate) fn png(picture: &Picture, lettering: &Lettering) -> Result<Vec<u8>, String> {
    let options = Options {
        font_family: "Landwaiter Lettering".to_owned(),
        fontdb: lettering.0.clone(),
        ..Options::default()
    };
    let tree = Tree::from_str(&picture.file(true), &options).map_err(|error| error.to_string())?;
    let (width, height) = picture.shape.pixels();
    let mut sheet = Pixmap::new(width, height).ok_or("the sheet has no size")?;
    resvg::render(&tree, Transform::identity(), &mut sheet.as_mut());
    sheet
        .encode_png()
        .map(mark_png)
        .map_err(|error| error.to_string())
}

/// The letters that the shipped lettering has not, each with the texts of the pictures that hold it.
pub(crate) fn beyond_lettering(pictures: &[Picture]) -> BTreeMap<char, BTreeSet<String>> {
    let Ok(face) = Face::parse(REGULAR, 0) else {
        return BTreeMap::new();
    };
    let mut found: BTreeMap<char, BTreeSet<String>> = BTreeMap::new();
    for picture in pictures {
        let file = picture.file(true);
        let Ok(document) = roxmltree::Document::parse(&file) else {
            continue;
        };
        for text in document
            .descendants()
            .filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "text")))
            .filter_map(|node| node.text())
        {
            let beyond = text.chars().filter(|c| {
                !c.is_whitespace()
                    && !is_unseen(*c)
                    && !is_selector(*c)
                    && face.glyph_index(*c).is_none()
            });
            beyond.for_each(|letter| {
                found.entry(letter).or_default().insert(text.to_owned());
            });
        }
    }
    found
}

/// Whether it only chooses between forms of the letter before it.
fn is_selector(c: char) -> bool {
    matches!(c, '\u{fe00}'..='\u{fe0f}')
}

/// Those of the letters that a font file can draw in outlines.
pub(crate) fn drawn_by(font: &[u8], wanted: &BTreeSet<char>) -> BTreeSet<char> {
    let faces =
        (0..fonts_in_collection(font).unwrap_or(1)).filter_map(|at| Face::parse(font, at).ok());
    let mut found = BTreeSet::new();
    for face in faces {
        found.extend(wanted.iter().copied().filter(|letter| {
            face.glyph_index(*letter)
                .is_some_and(|glyph| draws(&face, glyph))
        }));
    }
    if found.is_empty() || is_taken(font) {
        found
    } else {
        BTreeSet::new()
    }
}

/// Whether a font is one to draw with: it must have names.
fn is_taken(font: &[u8]) -> bool {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(font.to_vec());
    !fonts.is_empty()
}

fn draws(face: &Face<'_>, glyph: ttf_parser::GlyphId) -> bool {
    face.is_color_glyph(glyph) || face.outline_glyph(glyph, &mut Nothing).is_some()
}

/// An outline that is only asked whether it is there.
struct Nothing;

impl OutlineBuilder for Nothing {
    fn move_to(&mut self, _: f32, _: f32) {}
    fn line_to(&mut self, _: f32, _: f32) {}
    fn quad_to(&mut self, _: f32, _: f32, _: f32, _: f32) {}
    fn curve_to(&mut self, _: f32, _: f32, _: f32, _: f32, _: f32, _: f32) {}
    fn close(&mut self) {}
}
