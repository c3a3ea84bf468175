//! How amounts are shown: in the destination's money, or in another at the market rate.

use crate::tables::TaxName;
use crate::units::{Currency, Dec, HomeMoney, Mode, Overflow, Rate, ShownMoney};

/// Charges of the outputs that a screen calls otherwise; taxes have the destination's name.
const CHARGES: [(&str, &str); 8] = [
    ("freight", "shipping"),
    ("duty", "import duty"),
    ("remedy", "anti-dumping duty"),
    ("handling", "handling fee"),
    ("card_fee", "card fee"),
    ("return_freight", "shipping back"),
    ("to_pay_seller", "paid to the seller"),
    ("to_pay_carrier", "paid at the door"),
];

/// A figure that can be shown: in which money it is, its type says.
pub(crate) trait Shows: Copy {
    /// The bare figure, in the money it is in.
    fn bare(self) -> Dec;

    /// The figure in the money shown.
    fn there(self, show: &Show) -> Dec;
}

/// Bare figures are in the destination's money, for a [`Show`] that converts, and in the money shown for one that does not.
impl Shows for Dec {
    fn bare(self) -> Dec {
        self
    }

    fn there(self, show: &Show) -> Dec {
        show.converted(self)
    }
}

impl Shows for HomeMoney {
    fn bare(self) -> Dec {
        self.amount()
    }

    fn there(self, show: &Show) -> Dec {
        show.converted(self.amount())
    }
}

impl Shows for ShownMoney {
    fn bare(self) -> Dec {
        self.amount()
    }

    fn there(self, _: &Show) -> Dec {
        self.amount()
    }
}

/// The money sums are shown in.
#[derive(Debug, Clone, Copy)]
pub struct Show {
    /// That money.
    pub currency: Currency,
    /// From the destination's money into it.
    pub rate: Rate,
    /// What the destination calls its tax on goods.
    pub tax: TaxName,
}

impl Show {
    /// For a table: `1,912.40`.
    pub(crate) fn amount(&self, amount: impl Shows) -> String {
        amount.there(self).grouped(self.currency.digits())
    }

    /// For a sentence: `1,912.40 GBP`.
    pub(crate) fn money(&self, amount: impl Shows) -> String {
        format!("{} {}", self.amount(amount), self.currency)
    }

    /// For an axis: `1,900`, without minor units.
    pub(crate) fn round(&self, amount: impl Shows) -> String {
        let shown = amount.there(self);
        shown.grouped(shown.decimals().min(self.currency.digits()))
    }

    /// For a heading: `1,912`, rounded.
    pub(crate) fn whole(&self, amount: impl Shows) -> String {
        amount.there(self).round_to(0, Mode::HalfUp).grouped(0)
    }

    /// For JSON: `1912.40`.
    pub(crate) fn exact(&self, amount: impl Shows) -> String {
        amount.there(self).fixed(self.currency.digits())
    }

    /// The same money for figures that are in it already.
    #[must_use]
    pub(crate) fn as_it_is(&self) -> Show {
        Show {
            rate: Rate::SAME,
            ..*self
        }
    }

    /// An amount in this money, in whole minor units.
    pub(crate) fn rounded(&self, amount: Dec) -> Result<Dec, Overflow> {
        Ok(self
            .exactly(amount)?
            .round_to(self.currency.digits(), Mode::HalfUp))
    }

    /// An amount of the destination's money in this one, in whole minor units.
    pub(crate) fn shown(&self, amount: HomeMoney) -> Result<ShownMoney, Overflow> {
        self.rounded(amount.amount()).map(ShownMoney::of)
    }

    /// The difference of two amounts as they are shown, in this money.
    pub(crate) fn difference(&self, more: Dec, less: Dec) -> Result<Dec, Overflow> {
        self.rounded(more)?.minus(self.rounded(less)?)
    }

    /// An amount in this money before it is rounded; quotients without an end are brought to fourteen decimals.
    pub(crate) fn exactly(&self, amount: Dec) -> Result<Dec, Overflow> {
        Ok(self.rate.convert(amount)?.round_to(14, Mode::HalfEven))
    }

    fn converted(&self, amount: Dec) -> Dec {
        self.rate.convert(amount).unwrap_or(amount)
    }

    /// What a charge of the outputs is called on a screen.
    pub(super) fn charge(&self, name: &str) -> String {
        match (CHARGES.iter().find(|(known, _)| *known == name), name) {
            (Some((_, shown)), _) => (*shown).to_owned(),
            (None, "tax") => self.tax().to_owned(),
            (None, "tax_at_sale") => format!("{} at the checkout", self.tax()),
            (None, "tax_at_border") => format!("{} at the door", self.tax()),
            (None, other) => other.to_owned(),
        }
    }

    /// What the destination calls its tax on goods.
    pub(crate) fn tax(&self) -> &'static str {
        self.tax.name()
    }
}
