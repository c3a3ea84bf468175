//! A price that was seen today, as cells of the offer's row.

use super::find::offer;
use super::{Edits, number, set, text};
use crate::book::{Book, Part, Standing};
use crate::text::Diagnostic;
use crate::text::words::quoted;
use crate::units::number::{Style, money};
use crate::units::{Currency, Date};

/// A price that was seen.
pub(crate) struct Seen<'a> {
    /// The part.
    pub(crate) part: &'a str,
    /// The price as typed, with or without its currency.
    pub(crate) price: &'a str,
    /// Who asks it, where several do.
    pub(crate) seller: Option<&'a str>,
    /// The day.
    pub(crate) date: Date,
}

/// The cells of the offer's row that say the price and the day.
pub(crate) fn seen(book: &Book, wish: &Seen<'_>) -> Result<Edits, Diagnostic> {
    let row = offer(book, wish.part, wish.seller)?;
    let named = quoted(wish.part);
    match row.standing {
        Standing::ToOrder => {}
        Standing::Bundled => {
            let what = format!("{named} comes in another part's box and has no price of its own");
            return Err(Diagnostic::error(what).help("enter the price of the part it comes with"));
        }
        paid => {
            let what = format!(
                "{named} is `{}`: a price seen now does not change what it cost",
                paid.name()
            );
            return Err(Diagnostic::error(what)
                .help("enter what was really charged with `landwaiter settle --add`"));
        }
    }
    let (price, readings) = money(wish.price.trim(), Style::Point).map_err(|_| {
        Diagnostic::error(format!("{} is not a price", quoted(wish.price)))
            .help("enter it with a point, as in `1299.00`")
    })?;
    if !price.is_positive() {
        let what = format!("the price of {named} cannot be {price}");
        return Err(Diagnostic::error(what).help("enter a price above 0"));
    }
    let money = currency(book, row, (wish.price, &readings))?;
    // as prices are written, unless it has decimals that its money lacks: what reads it then says so
    let digits = money.map_or(0, Currency::digits);
    let mut cells = vec![
        number("price", price.fixed(digits.max(price.decimals()))),
        text("seen", wish.date.to_string()),
    ];
    let missing = money.filter(|_| !is_told(book, row));
    cells.extend(missing.map(|money| text("currency", money.code())));
    Ok(vec![set(row, cells)])
}

/// The currency of an offer's new price; none where nobody has said one.
fn currency(
    book: &Book,
    row: &Part,
    (typed, readings): (&str, &[Currency]),
) -> Result<Option<Currency>, Diagnostic> {
    let seller = row.seller.as_ref().and_then(|name| book.sellers.get(name));
    let named = quoted(&row.name);
    let own = if row.at.cell("price").is_empty() {
        seller.and_then(|seller| seller.currency)
    } else {
        row.currency
    };
    match (own, readings) {
        (None, []) => Ok(None),
        (None, [one]) => Ok(Some(*one)),
        (Some(own), readings) if readings.is_empty() || readings.contains(&own) => Ok(Some(own)),
        (Some(own), _) => {
            let what = format!("{named} is priced in {own}, and {} is not", quoted(typed));
            Err(Diagnostic::error(what).help(format!("enter the price in {own}")))
        }
        (None, _) => {
            let what = format!("{} can be of several currencies", quoted(typed));
            Err(Diagnostic::error(what).help("enter the code, as in `USD 12.00`"))
        }
    }
}

/// Whether the currency of a row is said beside its price. A price that carried its sign gave the row its currency: once it is a bare
/// number, the column must.
fn is_told(book: &Book, row: &Part) -> bool {
    let seller = row.seller.as_ref().and_then(|name| book.sellers.get(name));
    !row.at.cell("currency").is_empty()
        || seller.is_some_and(|seller| !seller.at.cell("currency").is_empty())
}
