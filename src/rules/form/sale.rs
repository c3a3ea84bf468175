//! What the seller asks, written as a form: list prices, discounts in their order, tax that prices hold, freight and insurance.

use std::collections::BTreeSet;

use super::maker::Maker;
use super::{Form, Id, Input, Measure, Op, Origin, SaleInput, Term, What};
use crate::rules::sale::{Carriage, Code, Cover, Given, Held, Sale, Worth};
use crate::tables;
use crate::units::{Dec, Overflow, Percent, Rounding, SellerMoney};

impl SaleInput {
    /// What it counts.
    pub(super) fn measure(self) -> Measure {
        match self {
            SaleInput::Packed
            | SaleInput::Discount
            | SaleInput::CarriageGrams
            | SaleInput::PremiumShare => Measure::Plain,
            SaleInput::Price
            | SaleInput::Carriage
            | SaleInput::FreeOver
            | SaleInput::Premium
            | SaleInput::Off
            | SaleInput::SaleTax
            | SaleInput::TaxHeld => Measure::Seller,
        }
    }
}

/// Where the answers stand.
#[derive(Debug, Clone)]
pub(crate) struct Asking {
    /// Price times quantity, as the prices were typed.
    pub(crate) list_typed: Id,
    /// Price times quantity, without a tax that is taken out.
    pub(crate) list: Id,
    /// What lowers it.
    pub(crate) off: Id,
    /// What is left.
    pub(crate) goods: Id,
    /// What an earlier order or points pay.
    pub(crate) credit: Id,
    /// Each line's share of the freight.
    pub(crate) freight: Id,
    /// Each line's share of the insurance.
    pub(crate) insurance: Id,
    /// The destination's tax that each line's price held.
    pub(crate) tax_in_price: Id,
    /// All goods as their prices were typed.
    pub(crate) typed: Id,
    /// Whether they travel free.
    pub(crate) free: Id,
    /// The freight before discounts.
    pub(crate) carriage: Id,
    /// The mass that a freight table is read for.
    pub(crate) charged: Option<Id>,
    /// The discounts, in their order.
    pub(crate) codes: Vec<CodeMarks>,
    /// How many nodes there were before tax was taken out of the prices, and before freight and insurance were shared.
    pub(crate) begins: [usize; 2],
}

/// Where the answers of one discount stand.
#[derive(Debug, Clone, Copy)]
pub(crate) struct CodeMarks {
    /// How many nodes there were before it was taken.
    pub(crate) begins: usize,
    /// Whether it counts.
    pub(crate) counts: Id,
    /// What it is taken of.
    pub(crate) base: Id,
    /// What it takes.
    pub(crate) taken: Id,
    /// Each line's share of that; the whole of it, where it is taken off the freight.
    pub(crate) shares: Id,
}

/// The rows that the terms of a sale stand in.
#[derive(Debug, Clone)]
pub(crate) struct SaleRows {
    /// The seller's, with what is to be said of the freight.
    pub(crate) seller: Origin,
    /// Those of the discounts, in their order.
    pub(crate) codes: Vec<Origin>,
}

/// The seller's side of a parcel up to what the seller asks.
pub(crate) fn lower_asking(sale: &Sale<'_>) -> Result<(Form, Asking), Overflow> {
    Maker::new(sale.lines).written(|make| make.asking(sale))
}

/// The same with the figures of its terms kept apart, so that they can be changed.
pub(super) fn lower_asking_live(
    sale: &Sale<'_>,
    rows: SaleRows,
) -> Result<(Form, Asking), Overflow> {
    let mut make = Maker::new(sale.lines);
    make.rows = Some(rows);
    make.written(|make| make.asking(sale))
}

/// The same as [`lower_asking`] for packages that hold some of the lines.
pub(crate) fn lower_asking_open(sale: &Sale<'_>) -> Result<(Form, Asking), Overflow> {
    Maker::open(sale.lines).written(|make| make.asking(sale))
}

/// What discounts have left so far, in the seller's money: by line, and of the freight.
#[derive(Clone, Copy)]
struct Left {
    list: Id,
    off: Id,
    credit: Id,
    freight: Id,
    freight_credit: Id,
}

impl Maker {
    /// A figure of the seller's terms, kept apart where the reading shows figures. All of them come by here.
    fn sale_figure(&mut self, figure: Given<Dec>, measure: Measure, term: Term) -> Id {
        match figure {
            Given::Known(value) => self.figure(value, measure, || What::Term(term)),
            Given::Supplied(input) => self.input(Input::Sale(input)),
        }
    }

    /// An amount of the seller's terms.
    fn sale_money(&mut self, amount: Given<SellerMoney>, term: Term) -> Id {
        self.sale_figure(amount.bare(SellerMoney::amount), Measure::Seller, term)
    }

    /// From here on terms are those of the seller's own row.
    fn reads_seller(&mut self) {
        self.origin = self.rows.as_ref().map(|rows| rows.seller.clone());
    }

    /// From here on terms are those of a discount.
    fn reads_code(&mut self, at: usize) {
        self.origin = self.rows.as_ref().map(|rows| rows.codes[at].clone());
    }

    /// Writes the seller's side of a parcel up to what the seller asks.
    pub(super) fn asking(&mut self, sale: &Sale<'_>) -> Result<Asking, Overflow> {
        let (price, pieces) = (
            self.input(Input::Sale(SaleInput::Price)),
            self.input(Input::Pieces),
        );
        let list = self.times(price, pieces)?;
        let typed = self.total(list)?;
        self.reads_seller();
        let free = match sale.free_over {
            None => self.sure(false),
            Some(over) => {
                let over = self.sale_money(over, Term::FreeOver);
                self.compare(typed, tables::Op::AtLeast, over)?
            }
        };
        let (carriage, charged) = self.carriage(sale, free)?;
        let zero = self.zero();
        let left = Left {
            list,
            off: zero,
            credit: zero,
            freight: carriage,
            freight_credit: zero,
        };
        let counts = self.counting(sale, typed, left)?;
        let (codes, left) = self.take_all(sale, &counts, left)?;
        self.reads_seller();
        let taxed = self.form.nodes.len();
        let (left, tax_in_price) = self.without_tax(sale, left)?;
        let carried = self.form.nodes.len();
        let goods = self.minus(left.list, left.off)?;
        let (freight, credit) = self.carried(sale, left)?;
        let insurance = self.insured(sale, left, goods)?;
        Ok(Asking {
            list_typed: list,
            list: left.list,
            off: left.off,
            goods,
            credit,
            freight,
            insurance,
            tax_in_price,
            typed,
            free,
            carriage,
            charged,
            codes,
            begins: [taxed, carried],
        })
    }

    /// The freight before discounts on it, and the mass that a table is read for.
    fn carriage(&mut self, sale: &Sale<'_>, free: Id) -> Result<(Id, Option<Id>), Overflow> {
        let mut mass = None;
        let freight = match sale.carriage {
            Carriage::Amount(amount) => self.sale_money(amount, Term::Freight),
            Carriage::ByMass(price, grams) => {
                let (price, grams) = (
                    self.sale_money(price, Term::Freight),
                    self.sale_figure(
                        grams.bare(|grams| grams.0),
                        Measure::Plain,
                        Term::FreightGrams,
                    ),
                );
                let packed = self.input(Input::Sale(SaleInput::Packed));
                let packed = self.total(packed)?;
                let whole = self.times(price, packed)?;
                let part = self.quotient(whole, grams)?;
                self.round(part, Some(Rounding::minor(sale.digits)))?
            }
            Carriage::Steps(steps) => {
                let (price, charged) = self.by_steps(steps, sale.digits)?;
                mass = Some(charged);
                price
            }
        };
        let charged = if sale.freight_anyway {
            self.sure(true)
        } else {
            self.not(free)?
        };
        Ok((self.only(charged, freight)?, mass))
    }

    /// A quotient of money and a plain figure; zero where that is.
    pub(super) fn quotient(&mut self, a: Id, b: Id) -> Result<Id, Overflow> {
        let measure = self.measure(a);
        if let Some(by) = self.fixed_value(b).filter(|by| !by.is_zero()) {
            return self.part(a, Dec::ONE, by);
        }
        let by_line = self.by_line(&[a, b]);
        Ok(self.add(Op::Over(a, b), measure, by_line))
    }

    /// For each discount, whether it counts: its least spend is reached, and of its group it saves most, each being tried in its
    /// turn among all others. Groups are settled in the order of their names; of equals the first counts.
    fn counting(&mut self, sale: &Sale<'_>, typed: Id, left: Left) -> Result<Vec<Id>, Overflow> {
        let mut counts = Vec::with_capacity(sale.codes.len());
        for (at, code) in sale.codes.iter().enumerate() {
            self.reads_code(at);
            counts.push(match code.min_spend {
                None => self.sure(true),
                Some(least) => {
                    let least = self.sale_money(Given::Known(least), Term::Spend);
                    self.compare(typed, tables::Op::AtLeast, least)?
                }
            });
        }
        let mut groups: Vec<&str> = sale.codes.iter().map(|code| code.group).collect();
        groups.sort_unstable();
        groups.dedup();
        for group in groups.into_iter().filter(|group| !group.is_empty()) {
            let members: Vec<usize> = (0..sale.codes.len())
                .filter(|at| sale.codes[*at].group == group)
                .collect();
            if members.len() > 1 {
                let best = self.best(sale, &counts, &members, left)?;
                for (at, best) in members.into_iter().zip(best) {
                    counts[at] = best;
                }
            }
        }
        Ok(counts)
    }

    /// For each member of a group, whether it is the one that counts.
    fn best(
        &mut self,
        sale: &Sale<'_>,
        counts: &[Id],
        members: &[usize],
        left: Left,
    ) -> Result<Vec<Id>, Overflow> {
        let zero = self.zero();
        // what does not hold stands below all that does, for nothing saves less than nothing
        let out = self.money(Dec::ONE.negated(), Measure::Seller);
        let mut saved = Vec::with_capacity(members.len());
        for member in members {
            let mut alone = counts.to_vec();
            for other in members.iter().filter(|other| *other != member) {
                alone[*other] = zero;
            }
            let (taken, _) = self.take_all(sale, &alone, left)?;
            let all = self.sum(taken.into_iter().map(|one| one.taken))?;
            saved.push(self.choose(counts[*member], all, out)?);
        }
        let mut best = Vec::with_capacity(members.len());
        for (at, (member, own)) in members.iter().zip(&saved).enumerate() {
            let mut wins = counts[*member];
            for (place, other) in saved.iter().enumerate().filter(|(place, _)| *place != at) {
                let beats = if place < at {
                    tables::Op::Above
                } else {
                    tables::Op::AtLeast
                };
                let beaten = self.compare(*own, beats, *other)?;
                wins = self.both(wins, beaten)?;
            }
            best.push(wins);
        }
        Ok(best)
    }

    /// Takes the discounts that count: what each takes, and what is left.
    fn take_all(
        &mut self,
        sale: &Sale<'_>,
        counts: &[Id],
        mut left: Left,
    ) -> Result<(Vec<CodeMarks>, Left), Overflow> {
        let mut taken = Vec::with_capacity(counts.len());
        for (at, (code, counts)) in sale.codes.iter().zip(counts).enumerate() {
            self.reads_code(at);
            taken.push(self.take(code, *counts, &mut left, sale.digits)?);
        }
        Ok((taken, left))
    }

    /// Takes one discount: rounded half up once, never more than there is, shared by what is left of the lines it covers.
    fn take(
        &mut self,
        code: &Code<'_>,
        counts: Id,
        left: &mut Left,
        digits: u32,
    ) -> Result<CodeMarks, Overflow> {
        let begins = self.form.nodes.len();
        let marks = |base, taken, shares| CodeMarks {
            begins,
            counts,
            base,
            taken,
            shares,
        };
        if self.never(counts) {
            return Ok(marks(counts, counts, counts));
        }
        let covered = match &code.cover {
            Cover::Freight => {
                let base = self.minus(left.freight, left.freight_credit)?;
                let taken = self.worth(code, base, digits)?;
                let taken = self.only(counts, taken)?;
                if code.credit {
                    left.freight_credit = self.plus(left.freight_credit, taken)?;
                } else {
                    left.freight = self.minus(left.freight, taken)?;
                }
                return Ok(marks(base, taken, taken));
            }
            Cover::Lines(covered) => self.truths(covered.iter().copied()),
        };
        let goods = self.minus(left.list, left.off)?;
        let unpaid = self.minus(goods, left.credit)?;
        let unpaid = self.only(covered, unpaid)?;
        let base = self.total(unpaid)?;
        let taken = self.worth(code, base, digits)?;
        let taken = self.only(counts, taken)?;
        let shares = self.spread(taken, unpaid, covered, digits);
        if code.credit {
            left.credit = self.plus(left.credit, shares)?;
        } else {
            left.off = self.plus(left.off, shares)?;
        }
        Ok(marks(unpaid, taken, shares))
    }

    fn worth(&mut self, code: &Code<'_>, base: Id, digits: u32) -> Result<Id, Overflow> {
        let full = match code.worth {
            Worth::Share(percent) => self.share_of(percent, Term::Percent, base)?,
            Worth::Amount(amount) => self.sale_money(amount, Term::Amount),
        };
        let capped = match code.most {
            None => full,
            Some(most) => {
                let most = self.sale_money(Given::Known(most), Term::Most);
                self.least(full, most)?
            }
        };
        let capped = self.least(capped, base)?;
        let rounded = self.round(capped, Some(Rounding::minor(digits)))?;
        self.least(rounded, base)
    }

    /// A percentage of an amount, unrounded.
    pub(super) fn share_of(
        &mut self,
        percent: Given<Percent>,
        term: Term,
        of: Id,
    ) -> Result<Id, Overflow> {
        let percent = self.sale_figure(percent.bare(|percent| percent.0), Measure::Plain, term);
        self.percent_of(of, percent)
    }

    /// Takes tax out of prices that hold it, and says how much of it is the destination's. Paid credits are worth no more than
    /// what is left of the price where the tax is the seller's own.
    fn without_tax(&mut self, sale: &Sale<'_>, left: Left) -> Result<(Left, Id), Overflow> {
        let percents = match sale.held {
            Held::Nothing => return Ok((left, self.zero())),
            Held::Own(own) => self.sale_figure(Given::Known(own.0), Measure::Plain, Term::OwnTax),
            Held::AtSale(percents) => self.held_at_sale(percents)?,
        };
        let paid = self.minus(left.list, left.off)?;
        let net = self.taken_out(paid, percents, sale.digits)?;
        let list = self.taken_out(left.list, percents, sale.digits)?;
        let list = self.most(list, net)?;
        let off = self.minus(list, net)?;
        let (credit, held) = if matches!(sale.held, Held::AtSale(_)) {
            (left.credit, self.minus(paid, net)?)
        } else if self.is_zero(left.credit) {
            (left.credit, self.zero())
        } else {
            (self.least(left.credit, net)?, self.zero())
        };
        let left = Left {
            list,
            off,
            credit,
            ..left
        };
        Ok((left, held))
    }

    /// The percentage that each line's price holds. Where figures are shown, each different one is a figure of its own.
    fn held_at_sale(&mut self, percents: &[Percent]) -> Result<Id, Overflow> {
        if self.rows.is_none() {
            let each = percents.iter().map(|percent| percent.0);
            return Ok(self.column(each.collect(), Measure::Plain));
        }
        self.origin = Some(Origin::table("the destination's tables"));
        let mut held = self.zero();
        let different: BTreeSet<Percent> = percents.iter().copied().collect();
        for percent in different {
            let own = self.truths(percents.iter().map(|other| *other == percent));
            let figure = self.sale_figure(Given::Known(percent.0), Measure::Plain, Term::SaleTax);
            let of_line = self.times(figure, own)?;
            held = self.plus(held, of_line)?;
        }
        Ok(held)
    }

    /// What an amount was before a percentage was put on it, rounded half up.
    fn taken_out(&mut self, amount: Id, percents: Id, digits: u32) -> Result<Id, Overflow> {
        let hundred = self.fixed(Dec::HUNDRED);
        let whole = self.plus(percents, hundred)?;
        let before = match self.fixed_value(whole) {
            Some(whole) => self.part(amount, Dec::HUNDRED, whole)?,
            None => {
                let product = self.times(amount, hundred)?;
                self.quotient(product, whole)?
            }
        };
        self.round(before, Some(Rounding::minor(digits)))
    }

    /// The freight shared by packed mass, and with the credits what is paid of it by credit.
    fn carried(&mut self, sale: &Sale<'_>, left: Left) -> Result<(Id, Id), Overflow> {
        let (packed, all) = (self.input(Input::Sale(SaleInput::Packed)), self.sure(true));
        let freight = self.spread(left.freight, packed, all, sale.digits);
        let paid = self.spread(left.freight_credit, packed, all, sale.digits);
        Ok((freight, self.plus(left.credit, paid)?))
    }

    /// The insurance shared by the value of the goods.
    fn insured(&mut self, sale: &Sale<'_>, left: Left, goods: Id) -> Result<Id, Overflow> {
        let insurance = match sale.insurance {
            None => return Ok(self.zero()),
            Some(Worth::Amount(amount)) => self.sale_money(amount, Term::Premium),
            Some(Worth::Share(percent)) => {
                let whole = self.total(goods)?;
                let insured = self.plus(whole, left.freight)?;
                let share = self.share_of(percent, Term::PremiumPercent, insured)?;
                self.round(share, Some(Rounding::minor(sale.digits)))?
            }
        };
        let all = self.sure(true);
        Ok(self.spread(insurance, goods, all, sale.digits))
    }
}
