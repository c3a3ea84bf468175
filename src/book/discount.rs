//! `discounts.csv`: codes and credits, what they cover and when they hold.

use super::read::{amount, doubt_share, sheet, unknown, whole};
use super::{Book, BookFile};
use crate::text::words::{self, one_of};
use crate::text::{Columns, Problems, Spot};
use crate::units::{Date, Dec, Percent, Span};

/// What a discount is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Scope {
    Item,
    Basket,
    Freight,
}

/// What it is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Worth {
    /// A percentage of what earlier discounts left.
    Share(Percent),
    /// An amount in the seller's money.
    Amount(Dec),
}

/// Whether it lowers the price, or pays part of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Pays {
    /// The price is lower, and so is the customs value.
    Price,
    /// An earlier order or points pay; the customs value stands.
    Credit,
}

/// One discount.
#[derive(Debug, Clone)]
pub(crate) struct Discount {
    /// Its code.
    pub(crate) code: String,
    /// The seller that grants it.
    pub(crate) seller: String,
    /// What it is taken from.
    pub(crate) scope: Scope,
    /// The part, for an item's.
    pub(crate) part: Option<String>,
    /// What it is worth.
    pub(crate) worth: Worth,
    /// At most this.
    pub(crate) max_off: Option<Dec>,
    /// Goods before any discount must come to this.
    pub(crate) min_spend: Option<Dec>,
    /// When it is taken.
    pub(crate) order: u32,
    /// Of one group only the best counts.
    pub(crate) group: String,
    /// Whether it lowers the price.
    pub(crate) pays: Pays,
    /// The days it holds.
    pub(crate) span: Span,
    /// Where it stands.
    pub(crate) at: Spot,
}

pub(super) const COLUMNS: Columns = Columns {
    needed: &["code", "seller", "scope"],
    optional: &[
        "part",
        "percent",
        "amount",
        "currency",
        "max_off",
        "min_spend",
        "order",
        "group",
        "pays",
        "valid_from",
        "valid_to",
    ],
    shared: &[],
};

const SCOPES: [(&str, Scope); 3] = [
    ("item", Scope::Item),
    ("basket", Scope::Basket),
    ("freight", Scope::Freight),
];

/// Reads `discounts.csv`.
pub(super) fn read(file: &BookFile, book: &Book, problems: &mut Problems) -> Vec<Discount> {
    let spots: Vec<Spot> = Spot::rows(&sheet(file, &COLUMNS, problems)).collect();
    let mut found: Vec<Discount> = Vec::new();
    for at in &spots {
        let Some(discount) = one(at, book, problems) else {
            continue;
        };
        if let Some(first) = found.iter().find(|other| other.is_again(&discount)) {
            let what = format!(
                "this discount is at {} already, and would count twice",
                first.at.place()
            );
            let help = "take one row out; where it holds in two seasons, give each its own days in `valid_from` and `valid_to`";
            problems.push(at.cell("code").error(what).help(help));
            continue;
        }
        found.push(discount);
    }
    found
}

impl Discount {
    /// Whether another row gives the same again on one of the same days.
    fn is_again(&self, other: &Discount) -> bool {
        let what = |d: &Discount| (d.code.clone(), d.seller.clone(), d.scope, d.part.clone());
        let worth = |d: &Discount| (d.worth, d.min_spend, d.pays);
        let ends_before = |one: &Discount, two: &Discount| {
            one.span
                .to
                .zip(two.span.from)
                .is_some_and(|(to, from)| to < from)
        };
        what(self) == what(other)
            && worth(self) == worth(other)
            && !ends_before(self, other)
            && !ends_before(other, self)
    }
}

fn one(at: &Spot, book: &Book, problems: &mut Problems) -> Option<Discount> {
    let name = at.cell("seller");
    let Some(seller) = book.sellers.get(name.text()) else {
        if book.lost_rows {
            return None;
        }
        problems.push(unknown(
            &name,
            "expected a seller of `sellers.csv` or `parts.csv`",
            book.sellers.keys().map(String::as_str),
        ));
        return None;
    };
    let stated = at
        .cell("currency")
        .optional(problems, super::read::currency);
    if let Some((stated, sellers)) = stated
        .zip(seller.currency)
        .filter(|(stated, sellers)| stated != sellers)
    {
        problems.push(at.cell("currency").error(format!(
            "expected {sellers}, in which this seller is paid, not {stated}"
        )));
    }
    if at.cell("code").is_empty() {
        problems.push(
            at.cell("code")
                .error("expected a code, or a name of your own for the discount"),
        );
    }
    let scope = at.cell("scope").needed(problems, |t| one_of(&SCOPES, t));
    let worth = worth(at, book, problems);
    let part = at.cell("part").some().map(str::to_owned);
    check_part(at, scope, part.as_deref(), book, problems);
    let money = |name: &'static str, problems: &mut Problems| {
        amount(&at.cell(name), seller.currency, problems).map(|(value, _)| value)
    };
    let pays = at.cell("pays").optional(problems, |t| {
        one_of(&[("price", Pays::Price), ("credit", Pays::Credit)], t)
    });
    let from = at.cell("valid_from").optional(problems, Date::parse);
    let to = at.cell("valid_to").optional(problems, Date::parse);
    if from.zip(to).is_some_and(|(from, to)| to < from) {
        problems.push(
            at.cell("valid_to")
                .error("expected a day on or after `valid_from`"),
        );
    }
    Some(Discount {
        code: at.cell("code").text().to_owned(),
        seller: seller.name.clone(),
        scope: scope?,
        part,
        worth: worth?,
        max_off: money("max_off", problems),
        min_spend: money("min_spend", problems),
        order: at
            .cell("order")
            .optional(problems, |t| whole(t, 0, 1000))
            .unwrap_or(0),
        group: at.cell("group").text().to_owned(),
        pays: pays.unwrap_or(Pays::Price),
        span: Span {
            from: from.or(Some(Date::FIRST)),
            to,
        },
        at: at.clone(),
    })
}

fn worth(at: &Spot, book: &Book, problems: &mut Problems) -> Option<Worth> {
    let (percent, fixed) = (at.cell("percent"), at.cell("amount"));
    match (percent.is_empty(), fixed.is_empty()) {
        (false, true) => {
            doubt_share(&percent, problems);
            percent
                .needed(problems, |t| Percent::typed(t, 100, percent.style()))
                .map(Worth::Share)
        }
        (true, false) => {
            let currency = book
                .sellers
                .get(at.cell("seller").text())
                .and_then(|s| s.currency);
            amount(&fixed, currency, problems).map(|(value, _)| Worth::Amount(value))
        }
        (false, false) => {
            problems.push(fixed.error("expected either `percent` or `amount`, not both"));
            None
        }
        (true, true) => {
            problems.push(percent.error("expected a figure here or in `amount`"));
            None
        }
    }
}

fn check_part(
    at: &Spot,
    scope: Option<Scope>,
    part: Option<&str>,
    book: &Book,
    problems: &mut Problems,
) {
    let cell = at.cell("part");
    match (scope, part) {
        (Some(Scope::Item), None) => {
            problems.push(cell.error("expected the name of the part, as `scope` is `item`"));
        }
        (Some(Scope::Item), Some(part)) => {
            let seller = at.cell("seller").text();
            let mut rows = book.parts.iter().filter(|p| p.name == part).peekable();
            if rows.peek().is_none() && book.lost_rows {
            } else if rows.peek().is_none() {
                problems.push(unknown(
                    &cell,
                    "expected a part of `parts.csv`",
                    book.parts.iter().map(|p| p.name.as_str()),
                ));
            } else if !rows.any(|p| p.seller.as_deref() == Some(seller)) {
                problems.push(cell.error(format!(
                    "expected a part that {} sells",
                    words::quoted(seller)
                )));
            }
        }
        (Some(_), Some(_)) => {
            problems.push(cell.error("expected no part, as `scope` is not `item`"));
        }
        _ => {}
    }
}
