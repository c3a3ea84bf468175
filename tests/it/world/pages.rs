//! A page for each folder of law, `rates/*/README.md`, written from its rows.

use landwaiter::report::law_page;
use landwaiter::text::{Problems, draw};

use super::{built_in, expect};

#[test]
fn every_folder_has_the_page_its_rows_make() {
    let mut problems = Problems::new();
    let folders = built_in().folders();
    assert_eq!(folders, ["au", "ca", "ch", "eu", "gb", "jp", "kr", "no", "nz", "sg", "us"]);
    for folder in folders {
        let page = law_page(built_in(), folder, &mut problems).unwrap_or_else(|| panic!("no destination uses {folder}"));
        assert!(!problems.refuse(), "{}", draw(&problems, false));
        expect(&format!("rates/{folder}/README.md"), &page);
    }
}
