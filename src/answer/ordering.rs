//! `order`: the parcels that are to be ordered, all of them or one seller's.

use super::case::show;
use super::{Answer, Answered, Case};
use crate::landed::{Checkout, Jurisdiction, checkouts, cost_at};
use crate::report::{self, OrderReport};
use crate::text::{Diagnostic, Problems, words};

/// What to order from a seller, or from all of them.
pub(super) fn order(
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    seller: Option<&str>,
) -> Answered {
    let cautions = cost_at(&case.book, jurisdiction)?.cautions;
    let all = checkouts(&case.book, jurisdiction)?;
    let of = all.len();
    let orders = match seller {
        Some(name) => wanted(case, all, name)?,
        None => all,
    };
    let report = OrderReport {
        orders: &orders,
        cautions: &cautions,
        ask: &case.ask,
        of,
    };
    let show = show(case, jurisdiction.currency())?;
    let tables = report::tables_json(jurisdiction, &case.ask);
    Ok(Answer {
        view: report::order_view(&report, &show)?,
        json: report::order_json(&report, &show, tables)?,
    })
}

/// The parcels of one seller, or the one of this name.
fn wanted<'a>(
    case: &Case,
    all: Vec<Checkout<'a>>,
    name: &str,
) -> Result<Vec<Checkout<'a>>, Problems> {
    let ids: Vec<String> = all.iter().map(|order| order.bill.id.clone()).collect();
    let found: Vec<Checkout<'a>> = all
        .into_iter()
        .filter(|order| order.is_meant(name))
        .collect();
    if !found.is_empty() {
        return Ok(found);
    }
    let what = if case.book.sellers.contains_key(name) {
        format!("nothing is to be ordered from {}", words::quoted(name))
    } else {
        format!("there is no seller {} in the book", words::quoted(name))
    };
    let known = case.book.sellers.keys().map(String::as_str);
    let help = match (words::nearest(name, known), ids.as_slice()) {
        (Some(near), _) if near != name => format!("did you mean `{near}`?"),
        (_, []) => "no part of the build is to be ordered".to_owned(),
        (_, ids) => format!("to be ordered: {}", words::few(ids)),
    };
    Err(Diagnostic::error(what).help(help).into())
}
