//! What is paid to the seller, by the form of the payment, at the market rate of the day of ordering.

use super::border::at_currency;
use super::jurisdiction::Jurisdiction;
use super::parcel::{Consignment, ConsignmentState};
use super::price::Priced;
use crate::rules::{Paid, Payer, pay};
use crate::tables::Quote;
use crate::text::Diagnostic;
use crate::units::{Currency, Percent, SellerMoney};

/// One payment.
#[derive(Debug, Clone)]
pub(super) struct Payment {
    /// What is paid.
    pub(crate) paid: Paid,
    /// The rate it was converted by.
    pub(crate) quote: Quote,
}

/// Pays what the seller asks for a consignment; `sale_tax` is each line's tax at the sale by the rules.
pub(super) fn payment(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    sale_tax: &[SellerMoney],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Payment, Diagnostic> {
    let quote = jurisdiction
        .market_rate(priced.currency, consignment.ordered)
        .map_err(|problem| at_currency(problem, consignment))?;
    let payer = payer(consignment, priced, jurisdiction);
    let asked = (priced.lines.as_slice(), priced.typed);
    Ok(Payment {
        paid: pay(asked, sale_tax, quote.rate, payer)?,
        quote,
    })
}

/// How a consignment is paid.
pub(super) fn payer(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Payer {
    Payer {
        paid_digits: priced.currency.digits(),
        digits: jurisdiction.currency().digits(),
        card: card_fee(priced.currency, jurisdiction),
        gift: consignment.kind == ConsignmentState::Gift,
        held: priced.lines.iter().any(|line| !line.tax_in_price.is_zero()),
    }
}

/// The card's fee on money of a currency: none on the destination's own.
pub(crate) fn card_fee(paid_in: Currency, jurisdiction: &Jurisdiction<'_>) -> Percent {
    if paid_in == jurisdiction.currency() {
        Percent::ZERO
    } else {
        // A fee that is not told is not counted, which a caution says.
        jurisdiction.ask.card_fee.unwrap_or(Percent::ZERO)
    }
}
