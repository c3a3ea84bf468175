//! The sums that a landed cost is made of, for a line, a consignment or a whole build.

use std::ops::{Index, IndexMut};

use crate::book::ChargeWord;
use crate::units::{Amount, Home, Overflow};

/// One of the sums that a landed cost is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sum {
    Goods,
    Discount,
    Freight,
    Insurance,
    Duty,
    Remedy,
    AtSale,
    AtBorder,
    Handling,
    CardFee,
}

impl Sum {
    /// All of them, in the order in which they are shown.
    pub(crate) const ALL: [Sum; 10] = {
        use Sum::{AtBorder, AtSale, CardFee, Discount, Duty, Freight, Goods, Handling};
        use Sum::{Insurance, Remedy};
        [
            Goods, Discount, Freight, Insurance, Duty, Remedy, AtSale, AtBorder, Handling, CardFee,
        ]
    };

    /// The sums that receipts tell one by one, in the order in which they are set.
    pub(crate) const TOLD: [(ChargeWord, Sum); Sum::ALL.len()] = [
        (ChargeWord::Goods, Sum::Goods),
        (ChargeWord::Freight, Sum::Freight),
        (ChargeWord::Insurance, Sum::Insurance),
        (ChargeWord::Duty, Sum::Duty),
        (ChargeWord::Remedy, Sum::Remedy),
        (ChargeWord::TaxAtSale, Sum::AtSale),
        (ChargeWord::TaxAtBorder, Sum::AtBorder),
        (ChargeWord::Handling, Sum::Handling),
        (ChargeWord::CardFee, Sum::CardFee),
        (ChargeWord::Discount, Sum::Discount),
    ];

    /// What is charged at the door.
    pub(crate) const DOOR: [Sum; 4] = [Sum::Duty, Sum::Remedy, Sum::AtBorder, Sum::Handling];

    /// Whether it is charged at the door.
    pub(crate) fn is_door(self) -> bool {
        Sum::DOOR.contains(&self)
    }

    /// What money back is said to lower: a discount grows by what comes off the price of the goods.
    pub(crate) fn lowered(self) -> Sum {
        if self == Sum::Discount {
            Sum::Goods
        } else {
            self
        }
    }

    /// What it is called on a sheet.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Sum::Goods => "goods",
            Sum::Discount => "discount",
            Sum::Freight => "freight",
            Sum::Insurance => "insurance",
            Sum::Duty => "duty",
            Sum::Remedy => "anti-dumping",
            Sum::AtSale => "tax at the sale",
            Sum::AtBorder => "tax at the border",
            Sum::Handling => "carrier's fee",
            Sum::CardFee => "card fee",
        }
    }
}

/// The sums of a line, a consignment or a build, in the destination's money or in the money shown; `landed` is made of the others
/// and nothing else.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[expect(missing_docs, reason = "named as in the outputs")]
pub struct ChargeBreakdown<K = Home> {
    pub goods: Amount<K>,
    pub discount: Amount<K>,
    pub freight: Amount<K>,
    pub insurance: Amount<K>,
    pub duty: Amount<K>,
    pub remedy: Amount<K>,
    pub tax_at_sale: Amount<K>,
    pub tax_at_border: Amount<K>,
    pub handling: Amount<K>,
    pub card_fee: Amount<K>,
}

impl<K> Index<Sum> for ChargeBreakdown<K> {
    type Output = Amount<K>;

    fn index(&self, sum: Sum) -> &Amount<K> {
        match sum {
            Sum::Goods => &self.goods,
            Sum::Discount => &self.discount,
            Sum::Freight => &self.freight,
            Sum::Insurance => &self.insurance,
            Sum::Duty => &self.duty,
            Sum::Remedy => &self.remedy,
            Sum::AtSale => &self.tax_at_sale,
            Sum::AtBorder => &self.tax_at_border,
            Sum::Handling => &self.handling,
            Sum::CardFee => &self.card_fee,
        }
    }
}

impl<K> IndexMut<Sum> for ChargeBreakdown<K> {
    fn index_mut(&mut self, sum: Sum) -> &mut Amount<K> {
        match sum {
            Sum::Goods => &mut self.goods,
            Sum::Discount => &mut self.discount,
            Sum::Freight => &mut self.freight,
            Sum::Insurance => &mut self.insurance,
            Sum::Duty => &mut self.duty,
            Sum::Remedy => &mut self.remedy,
            Sum::AtSale => &mut self.tax_at_sale,
            Sum::AtBorder => &mut self.tax_at_border,
            Sum::Handling => &mut self.handling,
            Sum::CardFee => &mut self.card_fee,
        }
    }
}

impl<K: Copy + Default> ChargeBreakdown<K> {
    /// Its sums in their order, the discount below zero: together they are what it lands at.
    pub(crate) fn cells(&self) -> [Amount<K>; Sum::ALL.len()] {
        Sum::ALL.map(|sum| signed(sum, self[sum]))
    }

    /// The sums of such cells.
    pub(crate) fn of_cells(cells: [Amount<K>; Sum::ALL.len()]) -> ChargeBreakdown<K> {
        let mut own = ChargeBreakdown::default();
        for (sum, cell) in Sum::ALL.into_iter().zip(cells) {
            own[sum] = signed(sum, cell);
        }
        own
    }

    /// `goods - discount + freight + insurance + duty + remedy + tax + handling + card_fee`.
    pub fn landed(&self) -> Result<Amount<K>, Overflow> {
        Amount::total(self.cells())
    }

    /// The goods less their discount.
    pub(crate) fn net_goods(&self) -> Result<Amount<K>, Overflow> {
        self.goods.minus(self.discount)
    }

    /// What is paid with the order.
    pub fn to_seller(&self) -> Result<Amount<K>, Overflow> {
        self.landed()?.minus(self.at_door()?)
    }

    /// What is paid at the door.
    pub fn at_door(&self) -> Result<Amount<K>, Overflow> {
        Amount::total(Sum::DOOR.map(|sum| self[sum]))
    }

    /// All tax.
    pub fn tax(&self) -> Result<Amount<K>, Overflow> {
        self.tax_at_sale.plus(self.tax_at_border)
    }

    /// What a refund finds of a sum: of the discount, the goods that it leaves.
    pub(super) fn left_of(&self, sum: Sum) -> Result<Amount<K>, Overflow> {
        if sum == Sum::Discount {
            self.net_goods()
        } else {
            Ok(self[sum])
        }
    }

    /// Lowers a sum by what came back of it; of the goods that is a discount.
    pub(super) fn lower(&mut self, sum: Sum, by: Amount<K>) -> Result<(), Overflow> {
        self[sum] = signed(sum, signed(sum, self[sum]).minus(by)?);
        Ok(())
    }

    /// Both together.
    pub(crate) fn plus(&self, other: &ChargeBreakdown<K>) -> Result<ChargeBreakdown<K>, Overflow> {
        let mut both = *self;
        for sum in Sum::ALL {
            both[sum] = self[sum].plus(other[sum])?;
        }
        Ok(both)
    }
}

/// A discount is taken off, and all else added.
fn signed<K: Copy>(sum: Sum, amount: Amount<K>) -> Amount<K> {
    if sum == Sum::Discount {
        amount.negated()
    } else {
        amount
    }
}

impl<K: Copy + Default> ChargeBreakdown<K> {
    /// All of them together.
    pub(crate) fn total<'a>(
        all: impl IntoIterator<Item = &'a ChargeBreakdown<K>>,
    ) -> Result<ChargeBreakdown<K>, Overflow>
    where
        K: 'a,
    {
        all.into_iter()
            .try_fold(ChargeBreakdown::default(), |sum, one| sum.plus(one))
    }
}
