//! The looks of cells that an .xlsx defines, by their numbers.

use std::collections::BTreeMap;

use super::bounds::MOST_LOOKS;
use super::look::{Look, kind};
use super::xml::{Piece, Tag, Xml};

/// What has been read so far.
#[derive(Default)]
struct Styles {
    /// Which list is being read.
    list: String,
    formats: BTreeMap<usize, String>,
    /// For each lettering, whether it is struck out.
    struck: Vec<bool>,
    /// For each look, the numbers of its format and its lettering.
    looks: Vec<(usize, usize)>,
}

/// All looks, in their order.
pub(super) fn read(mut xml: Xml<'_>) -> Result<Vec<Look>, String> {
    let mut styles = Styles::default();
    loop {
        match xml.next()? {
            Piece::Open(tag) => styles.open(&tag),
            Piece::Close(end) if end.is(&styles.list) => styles.list.clear(),
            Piece::End => break,
            _ => {}
        }
        if styles
            .formats
            .len()
            .max(styles.struck.len())
            .max(styles.looks.len())
            > MOST_LOOKS
        {
            return Err(format!("it defines more than {MOST_LOOKS} looks of cells"));
        }
    }
    let Styles {
        formats,
        struck,
        looks,
        ..
    } = styles;
    let look = |(format, lettering): (usize, usize)| Look {
        kind: kind(format, formats.get(&format).map(String::as_str)),
        struck: struck.get(lettering).copied().unwrap_or(false),
    };
    Ok(looks.into_iter().map(look).collect())
}

impl Styles {
    fn open(&mut self, tag: &Tag<'_>) {
        let name = tag.name();
        match (self.list.as_str(), name.as_str()) {
            ("", "numFmts" | "fonts" | "cellXfs" | "dxfs" | "cellStyleXfs") => self.list = name,
            ("numFmts", "numFmt") => {
                if let (Some(id), Some(code)) = (tag.number("numFmtId"), tag.get("formatCode")) {
                    self.formats.insert(id, code.chars().take(255).collect());
                }
            }
            ("fonts", "font") => self.struck.push(false),
            ("fonts", "strike") => {
                if let Some(last) = self.struck.last_mut() {
                    *last = tag.is_on();
                }
            }
            ("cellXfs", "xf") => self.looks.push((
                tag.number("numFmtId").unwrap_or(0),
                tag.number("fontId").unwrap_or(0),
            )),
            _ => {}
        }
    }
}
