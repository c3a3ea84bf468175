//! A picture as PNG, with the lettering that is shipped and no font of the machine.

use std::sync::Arc;

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};

use super::sketch::Picture;
use crate::report::mark::mark_png;

const REGULAR: &[u8] = include_bytes!("lettering/regular.otf");
const BOLD: &[u8] = include_bytes!("lettering/bold.otf");

/// The bytes of a PNG file; the error says what the drawing is not.
pub fn png(picture: &Picture) -> Result<Vec<u8>, String> {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(REGULAR.to_vec());
    fonts.load_font_data(BOLD.to_vec());
    let options = Options { font_family: "Landwaiter Lettering".to_owned(), fontdb: Arc::new(fonts), ..Options::default() };
    let tree = Tree::from_str(&picture.file(true), &options).map_err(|error| error.to_string())?;
    let (width, height) = picture.shape.pixels();
    let mut sheet = Pixmap::new(width, height).ok_or("the sheet has no size")?;
    resvg::render(&tree, Transform::identity(), &mut sheet.as_mut());
    sheet.encode_png().map(mark_png).map_err(|error| error.to_string())
}
