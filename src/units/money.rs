//! Money, which never mixes by accident: an amount with its currency, and bare amounts of which the type says whose they are.

use std::fmt;
use std::marker::PhantomData;

use super::{Currency, Dec, Overflow, Percent, Rate, Rounding};

/// An amount in a currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Money {
    /// How much.
    pub amount: Dec,
    /// Of what.
    pub currency: Currency,
}

impl Money {
    /// An amount of a currency.
    pub(crate) fn new(amount: Dec, currency: Currency) -> Money {
        Money { amount, currency }
    }
}

impl fmt::Display for Money {
    /// `1,912.40 GBP`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} {}",
            self.amount.grouped(self.currency.digits()),
            self.currency
        )
    }
}

/// Whose money an amount is: the destination's, in which the parcel's buyer is charged and counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Home;

/// The money that a parcel's seller asks and is paid in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Seller;

/// The money that results are shown in, whichever that is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub(crate) struct Shown;

/// An amount of a money that a calculation has once and for all: amounts of one money can be added and compared, those of two
/// cannot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Amount<K>(Dec, PhantomData<K>);

/// An amount of the destination's money.
pub type HomeMoney = Amount<Home>;

/// An amount of the seller's money.
pub(crate) type SellerMoney = Amount<Seller>;

/// An amount of the money that results are shown in.
pub(crate) type ShownMoney = Amount<Shown>;

impl<K> Amount<K> {
    /// No money.
    pub const ZERO: Amount<K> = Amount::of(Dec::ZERO);

    /// A figure that was read or calculated elsewhere and is known to be money of this kind.
    pub const fn of(amount: Dec) -> Amount<K> {
        Amount(amount, PhantomData)
    }
}

impl<K: Copy> Amount<K> {
    /// The bare figure, for showing it or for rooms that keep bare figures.
    pub const fn amount(self) -> Dec {
        self.0
    }

    /// Both together.
    pub fn plus(self, other: Amount<K>) -> Result<Amount<K>, Overflow> {
        self.0.plus(other.0).map(Amount::of)
    }

    /// The difference, which may be below zero.
    pub fn minus(self, other: Amount<K>) -> Result<Amount<K>, Overflow> {
        self.0.minus(other.0).map(Amount::of)
    }

    /// The amount with its sign turned.
    #[must_use]
    pub fn negated(self) -> Amount<K> {
        Amount::of(self.0.negated())
    }

    /// The amount without its sign.
    #[must_use]
    pub fn abs(self) -> Amount<K> {
        Amount::of(self.0.abs())
    }

    /// The amount times a number, unrounded.
    pub fn times(self, number: Dec) -> Result<Amount<K>, Overflow> {
        self.0.times(number).map(Amount::of)
    }

    /// The amount divided, unrounded.
    pub fn over(self, number: Dec) -> Result<Amount<K>, Overflow> {
        self.0.over(number).map(Amount::of)
    }

    /// A percentage of the amount, unrounded.
    pub(crate) fn part(self, percent: Percent) -> Result<Amount<K>, Overflow> {
        percent.of(self.0).map(Amount::of)
    }

    /// All of them together.
    pub fn total(amounts: impl IntoIterator<Item = Amount<K>>) -> Result<Amount<K>, Overflow> {
        Dec::total(amounts.into_iter().map(|one| one.0)).map(Amount::of)
    }

    /// The amount shared by weights, as `share` does it.
    pub(crate) fn share(
        self,
        weights: &[Amount<K>],
        decimals: u32,
    ) -> Result<Vec<Amount<K>>, Overflow> {
        let weights: Vec<Dec> = weights.iter().map(|one| one.0).collect();
        let parts = super::share(self.0, &weights, decimals)?;
        Ok(parts.into_iter().map(Amount::of).collect())
    }

    /// The amount, rounded as told.
    pub(crate) fn rounded(self, rounding: Rounding) -> Result<Amount<K>, Overflow> {
        rounding.apply(self.0).map(Amount::of)
    }

    /// The bare figure with this many decimals, as [`Dec::fixed`] writes it.
    pub fn fixed(self, decimals: u32) -> String {
        self.0.fixed(decimals)
    }

    /// Whether it is nothing.
    pub fn is_zero(self) -> bool {
        self.0.is_zero()
    }

    /// Whether it is below zero.
    pub fn is_negative(self) -> bool {
        self.0.is_negative()
    }

    /// Whether it is above zero.
    pub fn is_positive(self) -> bool {
        self.0.is_positive()
    }
}

impl<K> fmt::Display for Amount<K> {
    /// The bare figure.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
    }
}

impl Rate {
    /// What an amount of the seller's money is in the destination's, unrounded. The rate must be one from that seller's money to
    /// that destination's; nothing else leads from the one type to the other.
    pub fn to_home(self, amount: SellerMoney) -> Result<HomeMoney, Overflow> {
        self.convert(amount.0).map(Amount::of)
    }

    /// The way back by the same rate, unrounded.
    pub(crate) fn to_seller(self, amount: HomeMoney) -> Result<SellerMoney, Overflow> {
        self.back(amount.0).map(Amount::of)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cents(cents: i64) -> Dec {
        Dec::new(cents, 2)
    }

    #[test]
    fn a_rate_is_the_bridge() {
        let rate = Rate::new(Dec::new(86_505, 5), Dec::ONE).unwrap();
        let home = rate.to_home(SellerMoney::of(cents(10_000))).unwrap();
        assert_eq!(home, HomeMoney::of(Dec::new(86_505, 3)));
        let cut = home.rounded(Rounding::minor(2)).unwrap();
        assert_eq!(cut.amount(), cents(8651));
        assert_eq!(
            rate.to_seller(home).unwrap(),
            SellerMoney::of(cents(10_000))
        );
    }

    #[test]
    fn amounts_of_one_kind_add_up() {
        let [a, b] = [1250, 250].map(|one| HomeMoney::of(cents(one)));
        assert_eq!(a.plus(b).unwrap(), HomeMoney::of(cents(1500)));
        assert_eq!(b.minus(a).unwrap(), HomeMoney::of(cents(1000)).negated());
        assert_eq!(b.minus(a).unwrap().abs(), HomeMoney::of(cents(1000)));
        assert_eq!(HomeMoney::total([a, b, b]).unwrap().amount(), cents(1750));
        assert_eq!(a.times(Dec::from(3_u32)).unwrap().amount(), cents(3750));
        let fifth = a.part(Percent(Dec::from(20_u32))).unwrap();
        assert_eq!(fifth, b);
        assert!(a > b && b.is_positive() && !b.is_negative() && HomeMoney::ZERO.is_zero());
    }
}
