//! The recipes of the commands that answer about a book as it stands, and about the rules.

use super::after::losses;
use super::case::show;
use super::{Answer, Answered, Case, Format, Shape};
use crate::book::{Book, Part};
use crate::compare::{Options, compare_at};
use crate::landed::{Cautions, Jurisdiction, Question, cost_at};
use crate::rank::rank_at;
use crate::report::{self, Listing, View};
use crate::value::bench::Bench;
use crate::value::scale::weighed;

/// The landed cost, by parcel and by part.
pub(super) fn cost(case: &Case, jurisdiction: &Jurisdiction<'_>, shape: Shape) -> Answered {
    let mut landed = cost_at(&case.book, jurisdiction)?;
    let show = show(case, landed.currency)?;
    let mut cautions = Cautions::default();
    let scale = weighed(&case.book, jurisdiction, &mut cautions)?;
    landed.cautions.extend(cautions.into_list());
    let (mut view, mut json) = (View::default(), serde_json::Value::Null);
    if shape.format == Format::Json {
        let tables = report::tables_json(jurisdiction, &case.ask);
        json = report::cost_json(
            &landed,
            &case.ask,
            &show,
            tables,
            (shape.trail, scale.as_ref()),
        )?;
    } else {
        view = report::cost_view(
            &landed,
            &case.ask,
            jurisdiction,
            &show,
            (shape.trail, shape.format == Format::Csv),
            (scale.as_ref(), &empty_places(&case.book, jurisdiction)),
        )?;
    }
    Ok(Answer { view, json })
}

/// The required places of a build that nothing fills.
fn empty_places(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Vec<String> {
    let build: Vec<&Part> = book.build().collect();
    Bench::lay(&build, jurisdiction).lacking(jurisdiction)
}

/// The build beside complete bikes.
pub(super) fn compare(
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    shape: Shape,
    with_tools: bool,
) -> Answered {
    let comparison = compare_at(&case.book, jurisdiction, Options { with_tools })?;
    let show = show(case, jurisdiction.currency())?;
    let tables = report::tables_json(jurisdiction, &case.ask);
    let view_of = if shape.format == Format::Csv {
        report::compare_tables
    } else {
        report::compare_view
    };
    let mut view = view_of(&comparison, &show, shape.trail)?;
    let mut json = report::compare_json(&comparison, &case.ask, &show, &tables)?;
    report::add_choices(jurisdiction.unknown_choices(), &mut view, &mut json);
    let mut answer = Answer { view, json }.with_trails(shape, &comparison.bills, &show);
    if shape.trail {
        report::add_bike_trails(&comparison, &show, &mut answer.view, &mut answer.json);
    }
    Ok(answer)
}

/// The changes that save most weight for the money.
pub(super) fn rank(case: &Case, jurisdiction: &Jurisdiction<'_>, shape: Shape) -> Answered {
    let ranking = rank_at(&case.book, jurisdiction)?;
    let show = show(case, jurisdiction.currency())?;
    let tables = report::tables_json(jurisdiction, &case.ask);
    let losses = losses(case, jurisdiction, &ranking);
    let lost = report::lost_if_wrong(&losses, jurisdiction, &show);
    let mut view = report::rank_view(&ranking, &case.ask, &show, lost)?;
    let mut json = report::rank_json(&ranking, &case.ask, &show, &tables)?;
    report::add_losses(&losses, &show, &mut json);
    report::add_choices(jurisdiction.unknown_choices(), &mut view, &mut json);
    if !shape.trail {
        return Ok(Answer { view, json });
    }
    let mut answer =
        Answer { view, json }.with_trails(shape, &cost_at(&case.book, jurisdiction)?.bills, &show);
    report::add_option_trails(&ranking, &show, &mut answer.view, &mut answer.json);
    Ok(answer)
}
/// What the tables hold, or what is missing in them and what is older than a number of days.
pub(crate) fn rates(
    jurisdiction: &Jurisdiction<'_>,
    ask: &Question,
    gaps: Option<i64>,
    shape: Shape,
) -> Answer {
    match gaps {
        Some(older_than) => {
            let gaps = crate::landed::gaps(jurisdiction, older_than);
            Answer {
                view: report::gaps_view(&gaps, ask, listing(shape)),
                json: report::gaps_json(&gaps, ask),
            }
        }
        None => Answer {
            view: report::rates_view(jurisdiction, ask, listing(shape)),
            json: report::rates_json(jurisdiction, ask),
        },
    }
}

/// How much is shown. A program reads rows: its formats have them all, and only them.
fn listing(shape: Shape) -> Listing {
    match (shape.format == Format::Screen, shape.trail, shape.more) {
        (false, ..) => Listing::Table,
        (true, true, _) => Listing::WithPlaces,
        (true, false, true) => Listing::Rows,
        (true, false, false) => Listing::Summary,
    }
}
