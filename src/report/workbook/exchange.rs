//! Exchange: each published figure once among the inputs, whatever it is used for, and the conversion by it.

use std::collections::BTreeMap;

use super::formula::{At, NumExpr};
use super::inputs::List;
use super::refused::{Made, Refused};
use super::sheets::Look;
use crate::landed::Working;
use crate::tables::Quote;
use crate::units::{Currency, Dec, number};

/// The cell of each figure among the inputs, by the row of the tables and the figure itself.
#[derive(Debug, Clone, Default)]
pub(super) struct Exchange(BTreeMap<String, At>);

/// A figure that somebody published: how much of one money is one of another.
struct Published {
    base: Currency,
    rate: Dec,
    other: Currency,
    /// Its row and itself.
    key: String,
}

/// `1 EUR = 1.1234 USD` read again.
fn read(figure: &str) -> Option<(Currency, Dec, Currency)> {
    let words: Vec<&str> = figure.split(' ').collect();
    let ["1", base, "=", rate, quote] = words.as_slice() else {
        return None;
    };
    let rate = number::plain(rate).ok()?;
    Some((Currency::parse(base)?, rate, Currency::parse(quote)?))
}

/// The figures that a quote is made of.
fn published(quote: &Quote) -> Made<Vec<Published>> {
    let one = |(row, figure): (_, &String)| {
        let unread = || Refused::defect(format!("no exchange is read from `{figure}`"));
        let (base, rate, other) = read(figure).ok_or_else(unread)?;
        Ok(Published {
            base,
            rate,
            other,
            key: format!("{row} {figure}"),
        })
    };
    quote.rows.iter().zip(&quote.figures).map(one).collect()
}

/// Lists the figures of all parcels.
pub(super) fn exchange(list: &mut List<'_>, works: &[Working<'_>]) -> Made<Exchange> {
    let mut figures = Exchange::default();
    for (work, quote) in works
        .iter()
        .flat_map(|work| quotes(work).map(move |quote| (work, quote)))
    {
        for (figure, place) in published(quote)?.into_iter().zip(&quote.rows) {
            if figures.0.contains_key(&figure.key) {
                continue;
            }
            if figures.0.is_empty() {
                list.head(&[(0, "Exchange"), (8, "day"), (9, "row"), (10, "source")]);
            }
            // a figure of the user's own may have neither
            let source = quote.sources.first().map(ToString::to_string);
            let day = quote.day.unwrap_or(work.bill.ordered).to_string();
            let what = format!("{} for one {}", figure.other, figure.base);
            let about = [day, place.to_string(), source.unwrap_or_default()];
            let named = (what.as_str(), figure.other.code());
            let [day, row, source] = &about;
            let cell = list.figure(named, (figure.rate, Look::Typed), [day, row, source]);
            figures.0.insert(figure.key, cell);
        }
    }
    Ok(figures)
}

/// All quotes of a parcel.
fn quotes<'w>(work: &'w Working<'_>) -> impl Iterator<Item = &'w Quote> {
    let receipts = work.receipts.iter().map(|receipt| &receipt.quote);
    std::iter::once(&work.market)
        .chain(&work.customs)
        .chain(receipts)
}

impl Exchange {
    /// An amount converted: multiplied by what is published for its money, divided by what is published the other way round.
    pub(super) fn convert(&self, quote: &Quote, from: Currency, amount: NumExpr) -> Made<NumExpr> {
        let (mut times, mut over, mut now) = (vec![amount], Vec::new(), from);
        for figure in published(quote)? {
            let unknown = || Refused::defect(format!("no cell has the exchange {}", figure.key));
            let cell = NumExpr::R(*self.0.get(&figure.key).ok_or_else(unknown)?);
            if figure.base == now {
                times.push(cell);
                now = figure.other;
            } else {
                over.push(cell);
                now = figure.base;
            }
        }
        let product = match times.len() {
            1 => times.remove(0),
            _ => NumExpr::Mul(times),
        };
        Ok(if over.is_empty() {
            product
        } else {
            NumExpr::over(product, NumExpr::Mul(over))
        })
    }
}
