//! Results to text: one view, many renderers. No files, no terminal.
//!
//! A command's result becomes a view (sentences, tables of typed cells, notes) that plain text, Markdown and CSV only
//! style; JSON comes from structs of its own with a lasting name and fixed units.

mod alt_text;
mod build_limits;
mod cautions;
mod check_view;
mod compare_set;
mod compare_trail;
mod compare_view;
mod cost_json;
mod cost_view;
mod difference;
mod findings;
mod gallery;
mod gaps_view;
mod lacking;
mod law_due;
mod law_here;
mod law_summary;
mod law_tax;
mod law_when;
mod law_words;
mod layout;
mod leeway_json;
mod leeway_view;
mod mark;
mod near_limits;
mod order_view;
mod page;
mod parcel_table;
mod part_table;
pub(crate) mod picture;
mod picture_data;
mod plain;
mod plan_changes;
mod plan_nearest;
mod plan_points;
mod plan_view;
mod rank_view;
mod rates_view;
mod readings;
mod redact;
mod return_shown;
mod return_view;
mod scale_json;
mod screen;
mod settle_shown;
mod settle_view;
mod show;
mod shown;
mod starter;
mod step_view;
mod telling;
mod today_view;
mod trail_view;
mod value_json;
mod view;
mod words_view;
#[cfg(feature = "pages")]
mod workbook;
mod written_view;

// What may be used from outside.
pub use self::{
    compare_view::compare_view,
    cost_json::cost_json,
    cost_view::cost_view,
    plan_view::{plan_json, plan_view},
    rank_view::rank_view,
    rates_view::{Listing, rates_view},
    readings::readings_agree,
    screen::{Screen, text},
    show::Show,
    value_json::{compare_json, rank_json},
};

pub(crate) use alt_text::speech;
pub(crate) use check_view::{
    add_choices, add_to_json, check_json, check_lines, check_table, check_view, empty_places,
};
pub(crate) use compare_view::compare_tables;
pub(crate) use cost_view::landed_line;
pub(crate) use gallery::{Showing, ladder_series, pictures};
pub(crate) use gaps_view::{gaps_json, gaps_view, import_text, moved_text};
pub(crate) use layout::{csv, json, markdown};
pub(crate) use leeway_json::leeway_json;
pub(crate) use leeway_view::{LeewayReport, leeway_view};
pub(crate) use mark::{BAD_LINES, is_bad_lines, made_here};
pub(crate) use order_view::{OrderReport, order_json, order_view};
pub(crate) use page::page;
pub(crate) use picture_data::{Known, More};
pub(crate) use plan_nearest::{nearest_json, nearest_view};
pub(crate) use rank_view::{add_losses, lost_if_wrong};
pub(crate) use rates_view::{rates_json, tables_json};
pub(crate) use redact::Figures;
pub(crate) use return_view::{Beside, return_json, return_view};
pub(crate) use settle_shown::{claims_in, settled_in};
pub(crate) use settle_view::{SettleReport, settle_json, settle_view};
pub(crate) use shown::shown;
pub(crate) use starter::{
    KINDS, is_untouched, started_view, starter_parts, starter_sellers, starter_settings,
};
pub(crate) use step_view::{
    cancelled_step, placed_step, planned_step, received_step, seen_step, step_view, taken_step,
    weighed_step,
};
pub(crate) use telling::owned;
pub(crate) use today_view::{Deadline, Expected, Progress, TodayReport, today_json, today_view};
pub(crate) use trail_view::{add_bike_trails, add_option_trails, add_trails};
pub(crate) use view::View;
pub(crate) use words_view::words_view;
#[cfg(feature = "pages")]
pub(crate) use workbook::{starter_workbook, workbook};
pub(crate) use written_view::{Shown as ShownFile, written_view};

// The pages of rates/ are written by tests alone.
#[cfg(test)]
mod coverage_page;
#[cfg(test)]
mod law_page;
#[cfg(test)]
mod row_words;
#[cfg(test)]
mod tests;
