//! The sums of the seller's side as integer programs: one set for every shape that sellers' terms have.

use std::sync::Arc;

use crate::rules::{
    AskProgram, Carriage, Code, Cover, Given, Held, PayProgram, Payer, Sale, SaleInput, Worth,
};

/// What the sums of the seller's side are made of, whatever their figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SaleShape {
    /// Whether an insurance is a share of goods and freight.
    pub(super) premium: Option<bool>,
    /// Whether freight is free above a sum.
    pub(super) free_over: bool,
    /// Who pays, and in which money.
    pub(super) payer: Payer,
}

/// The sums of the seller's side.
#[derive(Debug)]
pub(super) struct SalePrograms {
    /// What the seller asks: with freight by mass or not, and each of them with a discount or without.
    asks: [[Option<AskProgram>; 2]; 2],
    pay: Option<PayProgram>,
}

impl SaleShape {
    /// Its programs, made when it is the first of its kind.
    pub(super) fn programs(
        self,
        known: &mut Vec<(SaleShape, Arc<SalePrograms>)>,
    ) -> Arc<SalePrograms> {
        if let Some((_, programs)) = known.iter().find(|(shape, _)| *shape == self) {
            return Arc::clone(programs);
        }
        let ask = |by_mass, discounted| AskProgram::build(&self.sale(by_mass, discounted));
        let made = Arc::new(SalePrograms {
            asks: [false, true].map(|by_mass| [false, true].map(|off| ask(by_mass, off))),
            pay: PayProgram::build(self.payer),
        });
        known.push((self, Arc::clone(&made)));
        made
    }

    fn sale(self, by_mass: bool, discounted: bool) -> Sale<'static> {
        let discount = Code {
            cover: Cover::Lines(vec![true]),
            worth: Worth::Share(Given::Supplied(SaleInput::Discount)),
            most: None,
            min_spend: None,
            credit: false,
            group: "",
        };
        let price = Given::Supplied(SaleInput::Carriage);
        Sale {
            lines: 1,
            digits: self.payer.paid_digits,
            codes: discounted.then_some(discount).into_iter().collect(),
            carriage: if by_mass {
                Carriage::ByMass(price, Given::Supplied(SaleInput::CarriageGrams))
            } else {
                Carriage::Amount(price)
            },
            free_over: self
                .free_over
                .then_some(Given::Supplied(SaleInput::FreeOver)),
            freight_anyway: false,
            insurance: self.premium.map(|share| {
                if share {
                    Worth::Share(Given::Supplied(SaleInput::PremiumShare))
                } else {
                    Worth::Amount(Given::Supplied(SaleInput::Premium))
                }
            }),
            held: Held::Nothing,
        }
    }
}

impl SalePrograms {
    /// What the seller asks; none where it cannot be calculated in whole numbers.
    #[inline]
    pub(super) fn ask(&self, by_mass: bool, discounted: bool) -> Option<&AskProgram> {
        let [flat, weighed] = &self.asks;
        let [plain, lowered] = if by_mass { weighed } else { flat };
        if discounted { lowered } else { plain }.as_ref()
    }

    /// What is paid; none where it cannot be calculated in whole numbers.
    #[inline]
    pub(super) fn pay(&self) -> Option<&PayProgram> {
        self.pay.as_ref()
    }
}
