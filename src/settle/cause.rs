//! Why a charge came out otherwise than calculated.

use crate::units::Dec;

/// A cause that can be named.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// The rate moved between the estimate and the charge.
    Rate,
    /// The seller asked another price.
    Price,
    /// The seller asked another freight.
    Freight,
    /// Charges that follow another price or freight.
    Follows,
    /// A discount was given otherwise than told.
    Discount,
    /// A charge that was not foreseen.
    NotForeseen,
    /// The carrier's fee is not the tables'.
    Fee,
    /// The same was charged twice.
    Twice,
    /// The same row stands twice: charged twice, or typed twice.
    TypedTwice,
    /// More than the tables ask, and nothing explains it.
    Overcharged,
    /// The tables have no rate for some of the goods, or a row of theirs ended: more may well be due.
    TablesLack,
    /// A charge that was due and was not asked for.
    NotAsked,
    /// Another of the tables' rates was taken, out of a hundred.
    OtherRate(Dec),
    /// Tax on duty that was charged otherwise.
    OnDuty,
    /// Tax on the carrier's fee.
    OnFee,
    /// The card's rate against the reference rate.
    CardRate,
    /// The seller's or its payment page's own conversion.
    Conversion,
    /// The card's fee.
    CardFee,
    /// What sending goods back cost.
    ReturnFreight,
    /// Money back.
    Refund,
    /// A deposit: what was paid before the price was.
    Deposit,
    /// Money back beyond what was paid, because the exchange moved meanwhile.
    RefundGain,
    /// Pennies.
    Rounding,
}

impl Cause {
    /// Its lasting name.
    pub(crate) fn name(&self) -> &'static str {
        match self {
            Cause::Rate => "rate-moved",
            Cause::Price => "price",
            Cause::Freight => "freight",
            Cause::Follows => "follows-price",
            Cause::Discount => "discount",
            Cause::NotForeseen => "not-foreseen",
            Cause::Fee => "fee",
            Cause::Twice => "charged-twice",
            Cause::TypedTwice => "typed-twice",
            Cause::Overcharged => "overcharged",
            Cause::TablesLack => "tables-lack",
            Cause::NotAsked => "not-asked-for",
            Cause::OtherRate(_) => "other-rate",
            Cause::OnDuty => "tax-on-duty",
            Cause::OnFee => "tax-on-fee",
            Cause::CardRate => "card-rate",
            Cause::Conversion => "seller-conversion",
            Cause::CardFee => "card-fee",
            Cause::ReturnFreight => "return-freight",
            Cause::Refund => "refund",
            Cause::Deposit => "deposit",
            Cause::RefundGain => "refund-gain",
            Cause::Rounding => "rounding",
        }
    }

    /// It in plain words.
    pub(crate) fn text(&self) -> String {
        match self {
            Cause::Rate => "exchange rate moved".to_owned(),
            Cause::Price => "price changed".to_owned(),
            Cause::Freight => "shipping price changed".to_owned(),
            Cause::Follows => "follows the price or shipping".to_owned(),
            Cause::Discount => "different discount".to_owned(),
            Cause::NotForeseen => "not in the estimate".to_owned(),
            Cause::Fee => "handling fee differs from the published one".to_owned(),
            Cause::Twice => "charged twice".to_owned(),
            Cause::TypedTwice => "same row twice: typed twice?".to_owned(),
            Cause::Overcharged => "more than the rules explain".to_owned(),
            Cause::TablesLack => "a rate is missing that may be due".to_owned(),
            Cause::NotAsked => "due by the rules, not charged".to_owned(),
            Cause::OtherRate(percent) => format!("as if the rate were {percent} %"),
            Cause::OnDuty => "tax follows the duty".to_owned(),
            Cause::OnFee => "tax on the handling fee".to_owned(),
            Cause::CardRate => "the card's exchange rate".to_owned(),
            Cause::Conversion => "probably the seller's own exchange rate".to_owned(),
            Cause::CardFee => "card fee".to_owned(),
            Cause::ReturnFreight => "shipping back".to_owned(),
            Cause::Refund => "money back".to_owned(),
            Cause::Deposit => "a deposit, and no price".to_owned(),
            Cause::RefundGain => "money back, a gain from exchange".to_owned(),
            Cause::Rounding => "rounding".to_owned(),
        }
    }
}
