//! What offers cost, form by form: what the seller asks, what the law makes due on it, and what is paid.
//!
//! Each part is read by the same walk. A figure that one form leaves is what the next is supplied with, so that nothing about
//! prices, discounts or the payment is known here but the names of the figures.

use std::rc::Rc;

use super::frame::Frame;
use super::lin::{Between, Lin, Nano, Unbounded, around};
use super::lines::Each;
use super::walk::{Effort, Stop, Supply, Value, Wanted, readings};
use crate::rules::form::lower::mark_of;
use crate::rules::form::pay::lower_paying_open;
use crate::rules::form::sale::lower_asking_open;
use crate::rules::form::{Asking, Id, Input, Op, Paying, SaleInput, lower_open};
use crate::rules::parcel::Parcel;
use crate::rules::program::Program;
use crate::rules::sale::{Payer, Sale};
use crate::tables::{Collect, Kind};
use crate::units::{Overflow, Rate, SellerMoney};

/// The seller's side of packages: what the seller asks, and how it is paid.
#[derive(Debug)]
pub(crate) struct SellerForms {
    asks: Wanted,
    asking: Asking,
    pays: Wanted,
    paying: Paying,
}

/// The law of packages.
#[derive(Debug)]
pub(crate) struct LawForm {
    law: Wanted,
    /// What is due at the door, kind by kind.
    door: Vec<Id>,
    paid: Id,
    collect: Id,
}

/// What is known of the lines and of the carriage before anything is read.
pub(crate) struct Offered {
    pub(crate) figures: Vec<(Input, Value)>,
    /// From the seller's money to the destination's: customs' rate, and the market's.
    pub(crate) customs: Rate,
    pub(crate) market: Rate,
}

/// What the seller asks for the packages of a case.
#[derive(Debug)]
pub(crate) struct AskedFor {
    list: Rc<Each>,
    goods: Rc<Each>,
    credit: Rc<Each>,
    freight: Rc<Each>,
    insurance: Rc<Each>,
    held: Rc<Each>,
    /// Whether they travel free.
    pub(crate) free: Option<bool>,
}

/// What packages of a case bear.
#[derive(Debug, Clone)]
pub(crate) struct Due {
    /// Duty, remedies, tax at the border and fees, in the destination's money.
    at_door: Between,
    /// Tax at the sale in the seller's money.
    at_sale: Rc<Each>,
    /// Whether all lines are taxed at the sale, where that is known.
    pub(crate) all_at_sale: Option<bool>,
    /// How each comparison of the parcel came out, but whether two figures are the same: what tells two readings of one case apart.
    pub(crate) settled: Vec<Option<bool>>,
}

impl SellerForms {
    /// The forms of a sale and its payment, for lines of which figures are known.
    pub(crate) fn new(
        (sale, payer): (&Sale<'_>, Payer),
        frame: &Frame,
        figures: &[(Input, Value)],
    ) -> Result<SellerForms, Overflow> {
        let (form, asking) = lower_asking_open(sale)?;
        let roots = [
            asking.list,
            asking.off,
            asking.credit,
            asking.freight,
            asking.insurance,
            asking.tax_in_price,
            asking.free,
        ];
        // what a discount is shared by is what is left of prices, and bounds do not show that this is never below zero
        let weights = form.nodes().iter().filter_map(|node| match &node.op {
            Op::Spread(how) => Some(how.weights),
            _ => None,
        });
        let never_below = weights.collect();
        let asks = Wanted::new(form, roots, never_below).prepared(frame, &known(figures));
        let (form, paying) = lower_paying_open(sale.lines, SellerMoney::ZERO, payer)?;
        let pays = Wanted::new(form, [paying.converted, paying.card_fee], Vec::new());
        Ok(SellerForms {
            asks,
            asking,
            pays,
            paying,
        })
    }

    /// What the seller asks for packages of a case.
    pub(crate) fn asked(
        &self,
        frame: &Frame,
        offered: &Offered,
        effort: Effort,
    ) -> Result<Vec<AskedFor>, Stop> {
        let supply = Supply {
            figures: offered.figures.clone(),
            rate: Rate::SAME,
        };
        let mut found = Vec::new();
        for walk in readings(&self.asks, frame, &supply, effort)? {
            let positive =
                |id: Id| Ok::<_, Unbounded>(Rc::new(frame.not_below_zero(&*walk.each(id)?)?));
            let at = &self.asking;
            let goods = match walk.minus(at.list, at.off)? {
                Value::Each(goods) => frame.not_below_zero(&goods)?,
                _ => frame.not_below_zero(&*walk.each(at.list)?)?,
            };
            found.push(AskedFor {
                list: positive(at.list)?,
                goods: Rc::new(goods),
                credit: positive(at.credit)?,
                freight: positive(at.freight)?,
                insurance: positive(at.insurance)?,
                held: positive(at.tax_in_price)?,
                free: walk.holds(at.free)?,
            });
        }
        Ok(found)
    }

    /// What is paid for packages of a case at the least, in the destination's money.
    pub(crate) fn paid(
        &self,
        frame: &Frame,
        (asked, due): (&AskedFor, Option<&Due>),
        market: Rate,
    ) -> Result<Between, Stop> {
        let each = |each: &Rc<Each>| Value::Each(Rc::clone(each));
        let nothing = Rc::new(frame.spread_out(&Between::default())?);
        let at_sale = due.map_or(&nothing, |due| &due.at_sale);
        // goods and discounts are added up, and goods are known better than both
        let off = frame.minus(&nothing, &asked.credit)?;
        let supply = Supply {
            figures: vec![
                (Input::List, each(&asked.goods)),
                (Input::Goods, each(&asked.goods)),
                (Input::Sale(SaleInput::Off), off.into()),
                (Input::Freight, each(&asked.freight)),
                (Input::Insurance, each(&asked.insurance)),
                (Input::Sale(SaleInput::SaleTax), each(at_sale)),
                (Input::Sale(SaleInput::TaxHeld), each(&asked.held)),
            ],
            rate: market,
        };
        let effort = Effort {
            splits: false,
            forks: 0,
        };
        let walks = readings(&self.pays, frame, &supply, effort)?;
        let walk = walks.first().ok_or("a payment is not read")?;
        let fee = walk.one(self.paying.card_fee)?;
        Ok(walk.one(self.paying.converted)?.plus(&fee)?)
    }
}

impl LawForm {
    /// The law of packages of lines of which figures are known; none where it looks at more of them than a form can leave open.
    pub(crate) fn new(
        (program, parcel): (&Program, &Parcel),
        frame: &Frame,
        figures: &[(Input, Value)],
    ) -> Result<Option<LawForm>, Overflow> {
        let Some((form, marks)) = lower_open(program, parcel)? else {
            return Ok(None);
        };
        let kinds = [Kind::Duty, Kind::Remedy, Kind::Tax, Kind::Fee];
        let door = kinds.iter().filter_map(|kind| marks.due.get(kind.name()));
        let door: Vec<Id> = door.copied().collect();
        let roots = door.iter().copied().chain([marks.paid, marks.collect]);
        Ok(Some(LawForm {
            law: Wanted::new(form, roots, Vec::new()).prepared(frame, &known(figures)),
            paid: marks.paid,
            collect: marks.collect,
            door,
        }))
    }

    /// What is due on packages of a case. Where the law has no bound it is at least nothing: a charge takes and never gives.
    pub(crate) fn due(
        &self,
        frame: &Frame,
        (asked, offered): (&AskedFor, &Offered),
        effort: Effort,
    ) -> Result<(Vec<Due>, Option<Unbounded>), Stop> {
        match self.bounded(frame, (asked, offered), effort) {
            Ok(dues) => Ok((dues, None)),
            Err(Stop::Unbounded(why)) => Ok((vec![Due::unknown(frame)?], Some(why))),
            Err(stop) => Err(stop),
        }
    }

    fn bounded(
        &self,
        frame: &Frame,
        (asked, offered): (&AskedFor, &Offered),
        effort: Effort,
    ) -> Result<Vec<Due>, Stop> {
        let mut figures = offered.figures.clone();
        figures.extend([
            (Input::List, Value::Each(Rc::clone(&asked.list))),
            (Input::Goods, Value::Each(Rc::clone(&asked.goods))),
            (Input::Freight, Value::Each(Rc::clone(&asked.freight))),
            (Input::Insurance, Value::Each(Rc::clone(&asked.insurance))),
        ]);
        let supply = Supply {
            figures,
            rate: offered.customs,
        };
        let mut found = Vec::new();
        for walk in readings(&self.law, frame, &supply, effort)? {
            let mut at_door = Between::default();
            for id in &self.door {
                at_door = at_door.plus(&walk.each(*id)?.sum)?;
            }
            // charges take and never give, which a bound of what they come to may not show
            at_door.least = frame.higher(at_door.least, Lin::default());
            found.push(Due {
                at_door,
                at_sale: Rc::new(frame.not_below_zero(&*walk.each(self.paid)?)?),
                all_at_sale: all_at_sale(&*walk.each(self.collect)?)?,
                settled: walk.settled(),
            });
        }
        Ok(found)
    }
}

impl Due {
    /// Anything that is not below nothing.
    pub(crate) fn unknown(frame: &Frame) -> Result<Due, Unbounded> {
        const MUCH: Nano = 1_000_000_000_000_000_000_000;
        let lines = frame.lines();
        Ok(Due {
            at_door: Between::ends(0, MUCH),
            at_sale: Rc::new(frame.lines_of(vec![0; lines], vec![MUCH; lines])?),
            all_at_sale: None,
            settled: vec![None],
        })
    }

    /// With what is paid to the seller.
    pub(crate) fn beside(&self, paid: &Between) -> Result<Between, Unbounded> {
        paid.plus(&self.at_door)
    }
}

/// What is known before any case is read; no rate of exchange is asked for so early.
fn known(figures: &[(Input, Value)]) -> Supply {
    Supply {
        figures: figures.to_vec(),
        rate: Rate::SAME,
    }
}

/// Whether all lines are taxed at the sale, by the marks of where they are.
fn all_at_sale(collect: &Each) -> Result<Option<bool>, Unbounded> {
    let (sale, _) = around(mark_of(Collect::AtSale))?;
    let mut lines = collect.least.iter().zip(&collect.most);
    Ok(if lines.clone().all(|ends| ends == (&sale, &sale)) {
        Some(true)
    } else if lines.all(|(low, high)| *low > sale || *high < sale) {
        Some(false)
    } else {
        None
    })
}
