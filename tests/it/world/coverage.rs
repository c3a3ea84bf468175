//! What can be priced: the page `rates/COVERAGE.md`, written from the tables.

use landwaiter::report::coverage_page;
use landwaiter::text::draw;

use super::{built_in, day, expect};

#[test]
fn the_page_of_coverage_is_what_the_tables_say() {
    let page = coverage_page(built_in(), day("2026-11-25")).unwrap_or_else(|problems| panic!("{}", draw(&problems, false)));
    expect("rates/COVERAGE.md", &page);
}
