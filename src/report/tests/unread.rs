//! How many rows the whole list of `rates` says were not read in the authority's own text.

use crate::Question;
use crate::book::Settings;
use crate::landed::{Jurisdiction, rows_in_force};
use crate::made::built_in as tables;
use crate::report::{Listing, Screen, rates_view, text};
use crate::tables::Evidence;
use crate::units::Date;

/// The whole list says for how many rows in force the authority's own text was not read, and marks each of them.
#[test]
fn rows_that_were_not_read_are_counted_and_marked() {
    for to in ["GB", "US", "IT", "JP", "XI", "NO"] {
        let mut settings = Settings::default();
        settings.set("destination", to).unwrap();
        let ask = Question::new(&settings, Date::parse("2026-11-25").unwrap()).unwrap();
        let jurisdiction = Jurisdiction::open(tables(), &ask).unwrap();
        let said = text(
            &rates_view(&jurisdiction, &ask, Listing::Rows),
            &Screen::of(100).with_more(true),
        );
        let all = said.split_whitespace().collect::<Vec<_>>().join(" ");
        let unread = rows_in_force(&jurisdiction, ask.date)
            .filter(|(_, stamp)| stamp.evidence != Evidence::Read)
            .count();
        assert!(
            unread > 0
                && all.contains(&format!("For {unread} of "))
                && all.contains("the authority's own text was not read; their marks say so"),
            "{to}: {unread}"
        );
        let marked = all
            .matches(", the authority's own text was not read")
            .count();
        assert!(marked >= unread, "{to}: {marked} of {unread}");
    }
}
