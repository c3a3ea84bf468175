//! Money, which never mixes by accident: an amount with its currency, and bare amounts of which the type says whose they are.

use std::fmt;

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
    /// So much of that currency.
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

/// Makes the type of the amounts of one currency that a calculation has once and for all: amounts of one type can be added and
/// compared, those of two cannot.
macro_rules! amounts {
    ($(#[$about:meta])* $name:ident) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
        pub struct $name(Dec);

        impl $name {
            /// No money.
            pub const ZERO: $name = $name(Dec::ZERO);

            /// A figure that was read or calculated elsewhere and is known to be money of this kind.
            pub const fn of(amount: Dec) -> $name {
                $name(amount)
            }

            /// The bare figure, for showing it or for rooms that keep bare figures.
            pub const fn amount(self) -> Dec {
                self.0
            }

            /// Both together.
            pub fn plus(self, other: $name) -> Result<$name, Overflow> {
                self.0.plus(other.0).map($name)
            }

            /// The difference, which may be below zero.
            pub fn minus(self, other: $name) -> Result<$name, Overflow> {
                self.0.minus(other.0).map($name)
            }

            /// The amount with its sign turned.
            #[must_use]
            pub fn negated(self) -> $name {
                $name(self.0.negated())
            }

            /// The amount without its sign.
            #[must_use]
            pub fn abs(self) -> $name {
                $name(self.0.abs())
            }

            /// So many times the amount, unrounded.
            pub fn times(self, number: Dec) -> Result<$name, Overflow> {
                self.0.times(number).map($name)
            }

            /// So many percent of the amount, unrounded.
            pub fn part(self, percent: Percent) -> Result<$name, Overflow> {
                percent.of(self.0).map($name)
            }

            /// All of them together.
            pub fn total(amounts: impl IntoIterator<Item = $name>) -> Result<$name, Overflow> {
                Dec::total(amounts.into_iter().map(|one| one.0)).map($name)
            }

            /// The amount, rounded as told.
            pub fn rounded(self, rounding: Rounding) -> Result<$name, Overflow> {
                rounding.apply(self.0).map($name)
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
    };
}

amounts! {
    /// An amount of the money that a parcel's seller asks and is paid in.
    SellerMoney
}

amounts! {
    /// An amount of the destination's money, in which the parcel's buyer is charged and counts.
    HomeMoney
}

impl Rate {
    /// What an amount of the seller's money is in the destination's, unrounded. The rate must be one from that seller's money to
    /// that destination's; nothing else leads from the one type to the other.
    pub fn to_home(self, amount: SellerMoney) -> Result<HomeMoney, Overflow> {
        self.convert(amount.0).map(HomeMoney)
    }

    /// The way back by the same rate, unrounded.
    pub fn to_seller(self, amount: HomeMoney) -> Result<SellerMoney, Overflow> {
        self.back(amount.0).map(SellerMoney)
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
