//! What a parcel of a seller's offers costs at least, whatever is bought: cases over goods and weight, in each of which the cost
//! has a bound that is linear in the offers.
//!
//! The seller's side is reckoned as `price` and `payment` do, with bounds in place of figures, and the law is a reading of its form
//! ([`crate::rules::bounds`]). Goods are cut where freight is free from, where a code asks for a least spend, and wherever the
//! law's comparisons may turn; weight is cut at the steps of freight. A bound may only be below: where something is not known
//! (a share of freight among lines that are not known, the digits of goods that nobody told), what is less is taken.
//!
//! Where digits stop above rows that differ, the engine takes the dearest line by line. In a case in which every comparison of the
//! law is settled alike by the line's own digits and by others, what is due is a sum of parts that belong to lines, so the dearest of
//! a line's digits bears at least what any one of them bears, and those found dearest for all lines together may stand. Where a
//! comparison is not settled alike, both are cases.

use std::collections::BTreeMap;

use super::border::{Scenario, Wide, all_lines};
use super::discount::turn;
use super::freight::charged_mass;
use super::jurisdiction::Jurisdiction;
use super::parcel::{Consignment, ConsignmentState, group, is_reckoned};
use super::payment::card_fee;
use super::price::{Priced, packed_masses, ruled_freight};
use crate::book::{
    Book, Discount, Freight, Included, Insurance, Part, Pays, Remedies, Scope, Worth,
};
use crate::rules::bounds::{
    Between, Due, Each, Figures, Fraction, Frame, Lin, Nano, Stop, Supposed, Unbounded, around,
    read,
};
use crate::rules::{AskedLine, Form, Marks, RowFilter, lower_open};
use crate::tables::FreightStep;
use crate::text::{Diagnostic, Problems};
use crate::units::{Currency, Dec, Grams, Overflow, Percent, Rate, SellerMoney};

/// Cases of one seller beyond which no more are split.
const MOST: usize = 300;

/// Comparisons that are read both ways within one case.
const FORKS: usize = 5;

/// Packages within goods and weight, and a bound on what they cost.
#[derive(Debug, Clone)]
pub struct LeastCase {
    /// The least and the most goods of the offers, in minor units of the seller's money.
    pub goods: (i64, i64),
    /// The most packed mass of the offers, in tenths of grams; none for any.
    pub weight_most: Option<i64>,
    /// What a package costs beside its offers, in billionths of the destination's money.
    pub fixed: i128,
    /// What each offer adds.
    pub by_offer: Vec<i128>,
}

/// What parcels of a seller cost at least.
#[derive(Debug, Clone)]
pub struct SellerBounds {
    /// What each offer adds to the goods: price times quantity, in minor units of the seller's money.
    pub goods: Vec<i64>,
    /// What each offer adds to the weight: packed mass in tenths of grams, cut.
    pub weight: Vec<i64>,
    /// The cases: each package lies in one whose sum is not above what it costs.
    pub cases: Vec<LeastCase>,
}

impl SellerBounds {
    /// The least of the cases in which a package lies, rounded down to a billionth; none where it lies in none.
    pub fn least(&self, chosen: &[usize]) -> Option<Dec> {
        let sum = |figures: &[i64]| {
            chosen
                .iter()
                .map(|at| figures.get(*at))
                .sum::<Option<i64>>()
        };
        let (goods, weight) = (sum(&self.goods)?, sum(&self.weight)?);
        let within = |case: &&LeastCase| {
            (case.goods.0..=case.goods.1).contains(&goods)
                && case.weight_most.is_none_or(|most| weight <= most)
        };
        let cost = |case: &LeastCase| {
            let own = chosen.iter().map(|at| case.by_offer.get(*at).copied());
            Some(case.fixed + own.sum::<Option<i128>>()?)
        };
        let least = self.cases.iter().filter(within).filter_map(cost).min()?;
        Dec::from_units(least, 9).ok()
    }
}

/// Why a seller's parcels have no bound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoBounds(pub String);

impl From<Unbounded> for NoBounds {
    fn from(why: Unbounded) -> NoBounds {
        NoBounds(why.to_owned())
    }
}

impl From<Overflow> for NoBounds {
    fn from(_: Overflow) -> NoBounds {
        NoBounds("a figure is too large".to_owned())
    }
}

impl From<Diagnostic> for NoBounds {
    fn from(problem: Diagnostic) -> NoBounds {
        NoBounds(problem.message)
    }
}

/// Bounds on what parcels cost that hold some of a seller's offers, beside rows that come anyway. Of the offers of one slot a
/// parcel holds one at most.
pub fn seller_bounds(
    book: &Book,
    sure: &[&Part],
    offers: &[&Part],
    slots: &[usize],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<SellerBounds, NoBounds> {
    let rows: Vec<&Part> = sure.iter().chain(offers).copied().collect();
    if offers.is_empty() || offers.len() != slots.len() || !rows.iter().all(|row| is_reckoned(row))
    {
        return Err("not every row has a price".into());
    }
    let mut problems = Problems::new();
    let mut consignments = group(book, &rows, jurisdiction, &mut problems);
    let consignment = consignments.pop();
    let Some(consignment) = consignment.filter(|_| consignments.is_empty() && !problems.refuse())
    else {
        return Err("the rows are not one parcel".into());
    };
    if consignment.kind != ConsignmentState::ToOrder {
        return Err("the parcel is not to be ordered".into());
    }
    if book
        .receipts
        .iter()
        .any(|receipt| receipt.consignment == consignment.id)
    {
        return Err("the parcel has receipts".into());
    }
    if !jurisdiction.what_if.freight.is_empty() {
        return Err("the freight is supposed to be otherwise".into());
    }
    Seller::open(book, consignment, offers, slots, jurisdiction)?.cases()
}

/// The law of some of the lines.
struct Read {
    form: Form,
    marks: Marks,
}

/// One way in which customs may see the lines.
struct View {
    dearest: Read,
    /// With the lines' own digits, where those are others.
    own: Option<Read>,
    sale_tax: Vec<Percent>,
}

/// How the prices of a case are read.
#[derive(Clone, Copy)]
enum Prices<'v> {
    AsTyped,
    /// The destination's tax is taken out of them, at these percentages.
    Net(&'v [Percent]),
}

/// A seller's offers before anything is chosen.
struct Seller<'a> {
    jurisdiction: &'a Jurisdiction<'a>,
    consignment: Consignment<'a>,
    currency: Currency,
    /// For each line its slot and its offer; none for what comes anyway.
    slots: Vec<Option<usize>>,
    offers: Vec<Option<usize>>,
    /// Price times quantity, also in minor units.
    lists: Vec<Dec>,
    list: Vec<i64>,
    /// Packed grams.
    masses: Vec<Dec>,
    codes: Vec<&'a Discount>,
    wide: Option<Wide>,
    customs: Rate,
    market: Rate,
    steps: Vec<&'a FreightStep>,
}

/// What carrying costs within some weight.
struct Carried {
    /// The most packed mass of all lines, in grams; none for any.
    up_to: Option<Dec>,
    /// What the seller asks, unless it is free.
    asked: Between,
    /// The law of it.
    views: Vec<View>,
}

/// What a seller asks of packages of a case.
struct Asked {
    goods: Each,
    /// What an earlier order or points pay.
    credit: Between,
    freight: Between,
    freights: Each,
    insurance: Between,
    insurances: Each,
    /// The destination's tax that prices held.
    held: Between,
    lists: Each,
}

/// How a parcel is looked at under what is taken to be otherwise.
fn supposed(jurisdiction: &Jurisdiction<'_>) -> Scenario {
    let what_if = &jurisdiction.what_if;
    Scenario {
        counting: RowFilter {
            disputed: !what_if.undisputed,
            remedies: what_if.remedies || jurisdiction.ask.remedies == Remedies::Count,
        },
        origin: None,
        told: None,
        claim: Vec::new(),
        assembled: true,
        heading: None,
    }
}

/// The steps of the schedule that a parcel goes by; none where it goes by none.
fn steps_of<'a>(
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'a>,
) -> Vec<&'a FreightStep> {
    match &consignment.freight {
        Freight::Schedule(name) => jurisdiction.schedule(
            name,
            consignment.dispatch.code(),
            consignment.channel.name(),
            consignment.ordered,
        ),
        _ => Vec::new(),
    }
}

impl<'a> Seller<'a> {
    /// Opens the offers of one seller for bounds.
    fn open(
        book: &'a Book,
        consignment: Consignment<'a>,
        offers: &[&Part],
        slots: &[usize],
        jurisdiction: &'a Jurisdiction<'a>,
    ) -> Result<Seller<'a>, NoBounds> {
        let first = consignment.rows.first();
        let currency = first
            .and_then(|row| row.currency)
            .unwrap_or(jurisdiction.currency());
        let digits = currency.digits();
        let (masses, guessed) = packed_masses(&consignment, jurisdiction)?;
        let masses: Vec<Dec> = masses.into_iter().map(|mass| mass.0).collect();
        let mut lists = Vec::new();
        for row in &consignment.rows {
            let price = jurisdiction.what_if.price_of(row, digits)?;
            lists.push(price.amount().times(Dec::from(row.quantity))?);
        }
        let of_offer = |row: &&Part| offers.iter().position(|offer| std::ptr::eq(*offer, *row));
        let places: Vec<Option<usize>> = consignment.rows.iter().map(of_offer).collect();
        let name = consignment.seller.map(|seller| seller.name.as_str());
        let priced = Priced {
            currency,
            lines: lists
                .iter()
                .zip(&masses)
                .map(|(list, mass)| AskedLine {
                    list: SellerMoney::of(*list),
                    packed: Grams(*mass),
                    ..AskedLine::default()
                })
                .collect(),
            typed: SellerMoney::ZERO,
            used: Vec::new(),
            packed: Grams::ZERO,
            guessed,
            freight_unknown: false,
        };
        let abroad = !jurisdiction.is_home(consignment.dispatch.code());
        let variant = supposed(jurisdiction);
        let wide = if abroad {
            let wide = all_lines(&consignment, &priced, jurisdiction, &variant)?;
            Some(wide.ok_or("parts of one thing are not alike in how many there are")?)
        } else {
            None
        };
        let customs = jurisdiction
            .customs_rate(currency, consignment.arrival)?
            .quote
            .rate;
        let market = jurisdiction
            .market_rate(currency, consignment.ordered)?
            .rate;
        let steps = steps_of(&consignment, jurisdiction);
        let small = lists.iter().map(|list| list.small_units(digits));
        Ok(Seller {
            slots: places
                .iter()
                .map(|at| at.and_then(|at| slots.get(at).copied()))
                .collect(),
            list: small
                .collect::<Option<_>>()
                .ok_or("a price is finer than its money")?,
            lists,
            masses,
            codes: book
                .discounts
                .iter()
                .filter(|code| Some(code.seller.as_str()) == name)
                .filter(|code| code.span.holds(consignment.ordered))
                .collect(),
            offers: places,
            jurisdiction,
            consignment,
            currency,
            wide,
            customs,
            market,
            steps,
        })
    }

    /// All cases.
    fn cases(&self) -> Result<SellerBounds, NoBounds> {
        let offered = |figures: Vec<i64>| {
            let mut by_offer = vec![0; self.offers.iter().flatten().count()];
            for (own, offer) in figures.iter().zip(&self.offers) {
                if let Some(offer) = offer {
                    by_offer[*offer] = *own;
                }
            }
            by_offer
        };
        let tenths = |mass: &Dec| {
            let cut = mass.round_to(1, crate::units::Mode::Floor);
            cut.small_units(1)
                .ok_or(NoBounds::from("a mass is too large"))
        };
        let weight = self
            .masses
            .iter()
            .map(tenths)
            .collect::<Result<Vec<_>, _>>()?;
        let mut bounds = SellerBounds {
            goods: offered(self.list.clone()),
            weight: offered(weight),
            cases: Vec::new(),
        };
        for carried in self.carried()? {
            let most = match carried.up_to {
                Some(up_to) => Some(self.beside_sure(up_to)?),
                None => None,
            };
            if most.is_some_and(|most| most < 0) {
                continue;
            }
            for codes in self.code_choices()? {
                self.of_codes(&carried, &codes, most, &mut bounds.cases)?;
            }
        }
        Ok(bounds)
    }

    /// A limit of packed grams in tenths, less what comes anyway.
    fn beside_sure(&self, up_to: Dec) -> Result<i64, NoBounds> {
        let sure = self
            .masses
            .iter()
            .zip(&self.slots)
            .filter(|(_, slot)| slot.is_none());
        let sure = Dec::total(sure.map(|(mass, _)| *mass))?;
        let left = up_to.minus(sure)?.round_to(1, crate::units::Mode::Ceiling);
        left.small_units(1).ok_or("a mass is too large".into())
    }

    /// The codes that are taken: of each group one.
    fn code_choices(&self) -> Result<Vec<Vec<&'a Discount>>, NoBounds> {
        let mut groups: BTreeMap<&str, Vec<&'a Discount>> = BTreeMap::new();
        let mut chosen: Vec<Vec<&'a Discount>> = vec![Vec::new()];
        for code in &self.codes {
            if code.group.is_empty() {
                chosen.iter_mut().for_each(|own| own.push(code));
            } else {
                groups.entry(code.group.as_str()).or_default().push(code);
            }
        }
        for group in groups.values() {
            let with = |own: &Vec<&'a Discount>| {
                let more = group.iter().map(|code| {
                    let mut more = own.clone();
                    more.push(*code);
                    more
                });
                more.collect::<Vec<_>>()
            };
            chosen = chosen.iter().flat_map(with).collect();
        }
        if chosen.len() > 12 {
            return Err("too many codes of which only the best counts".into());
        }
        for own in &mut chosen {
            own.sort_by(|a, b| turn(a).cmp(&turn(b)));
        }
        Ok(chosen)
    }

    /// The cases of a weight and of codes: goods are cut, and cut again where the law asks for it.
    fn of_codes(
        &self,
        carried: &Carried,
        codes: &[&Discount],
        weight_most: Option<i64>,
        cases: &mut Vec<LeastCase>,
    ) -> Result<(), NoBounds> {
        let mut open: Vec<((i64, i64), usize, bool)> = Vec::new();
        let views = carried.views.len().max(1);
        for range in self.ranges(codes)? {
            for view in 0..views {
                let prices =
                    self.consignment.tax_to_take_out(self.jurisdiction) == Included::SaleTax;
                open.push((range, view, false));
                if prices {
                    open.push((range, view, true));
                }
            }
        }
        let mut split = 0;
        while let Some((range, view, net)) = open.pop() {
            match self.of_range(carried, codes, (range, view, net), split > MOST)? {
                Done::Cases(found) => cases.extend(found.into_iter().map(|sum| {
                    let mut by_offer = vec![0; self.offers.iter().flatten().count()];
                    for (line, offer) in self.offers.iter().enumerate() {
                        if let Some(offer) = offer {
                            by_offer[*offer] = sum.of(line);
                        }
                    }
                    LeastCase {
                        goods: range,
                        weight_most,
                        fixed: sum.fixed,
                        by_offer,
                    }
                })),
                Done::Split(cuts) => {
                    split += 1;
                    let mut from = range.0;
                    for cut in cuts {
                        open.push(((from, cut), view, net));
                        from = cut + 1;
                    }
                    open.push(((from, range.1), view, net));
                }
            }
        }
        Ok(())
    }

    /// Minor units of goods that packages can come to, cut where freight is free from and where codes begin.
    fn ranges(&self, codes: &[&Discount]) -> Result<Vec<(i64, i64)>, NoBounds> {
        let digits = self.currency.digits();
        let sure: i64 = self
            .list
            .iter()
            .zip(&self.slots)
            .filter(|(_, slot)| slot.is_none())
            .map(|(list, _)| *list)
            .sum();
        let mut most: BTreeMap<usize, i64> = BTreeMap::new();
        let mut least = i64::MAX;
        for (list, slot) in self.list.iter().zip(&self.slots) {
            if let Some(slot) = slot {
                let own = most.entry(*slot).or_insert(0);
                *own = (*own).max(*list);
                least = least.min(*list);
            }
        }
        let most: i64 = most.values().sum();
        let free = self
            .consignment
            .seller
            .and_then(|seller| seller.free_freight_over);
        let limits = codes.iter().filter_map(|code| code.min_spend).chain(free);
        let amounts = codes.iter().filter_map(|code| match code.worth {
            Worth::Amount(amount) if code.scope == Scope::Basket => Some(amount),
            _ => None,
        });
        let amounts = Dec::total(amounts)?;
        let mut limits: Vec<Dec> = limits.collect();
        if amounts.is_positive() {
            // what an amount is of a line hangs on how many share it, the less the more there is
            for tenths in [10_u32, 12, 15, 20, 40] {
                limits.push(amounts.times(Dec::from(tenths))?.over(Dec::from(10_u32))?);
            }
        }
        let mut starts = Vec::new();
        for limit in limits {
            let limit = limit.round_to(digits, crate::units::Mode::Ceiling);
            let start = limit.small_units(digits).ok_or("a limit is too large")? - sure;
            if start > least && start <= most {
                starts.push(start);
            }
        }
        starts.sort_unstable();
        starts.dedup();
        let mut found = Vec::new();
        let mut from = least;
        for start in starts {
            found.push((from, start - 1));
            from = start;
        }
        found.push((from, most));
        Ok(found)
    }

    fn frame(&self, range: (i64, i64)) -> Frame {
        let digits = self.currency.digits();
        let minor = 10_i128.pow(9_u32.saturating_sub(digits));
        let goods = self.list.iter().zip(&self.slots);
        Frame {
            slots: self.slots.clone(),
            goods: goods
                .map(|(list, slot)| {
                    if slot.is_some() {
                        Nano::from(*list) * minor
                    } else {
                        0
                    }
                })
                .collect(),
            range: (Nano::from(range.0) * minor, Nano::from(range.1) * minor),
        }
    }

    fn known(frame: &Frame, figures: &[Dec]) -> Result<Each, NoBounds> {
        let ends = figures.iter().map(|own| around(*own));
        let (least, most) = ends.collect::<Result<Vec<_>, _>>()?.into_iter().unzip();
        Ok(frame.lines_of(least, most)?)
    }

    /// What packages of a range cost at least, read one way; or where it must be split.
    fn of_range(
        &self,
        carried: &Carried,
        codes: &[&Discount],
        (range, view, net): ((i64, i64), usize, bool),
        enough: bool,
    ) -> Result<Done, NoBounds> {
        let frame = self.frame(range);
        let Some(view) = carried.views.get(view) else {
            let asked = self.asked(&frame, carried, codes, Prices::AsTyped)?;
            let cost = self.paid(&frame, &asked, &Between::default(), None)?;
            return Ok(Done::Cases(vec![cost.least]));
        };
        let prices = if net {
            Prices::Net(&view.sale_tax)
        } else {
            Prices::AsTyped
        };
        let asked = self.asked(&frame, carried, codes, prices)?;
        let figures = self.figures(&frame, &asked)?;
        let dearest = match readings(&view.dearest, &frame, &figures, enough)? {
            Ok(dues) => dues,
            Err(cuts) => return Ok(Done::Split(self.cuts(range, &cuts))),
        };
        let mut dues = dearest;
        if let Some(own) = &view.own {
            let others = match readings(own, &frame, &figures, enough)? {
                Ok(dues) => dues,
                Err(cuts) => return Ok(Done::Split(self.cuts(range, &cuts))),
            };
            let settled = |due: &Due| due.settled.iter().all(Option::is_some);
            let mut pairs = dues.iter().zip(&others);
            let alike = dues.len() == others.len()
                && pairs.all(|(one, other)| settled(one) && one.settled == other.settled);
            if !alike {
                dues.extend(others);
            }
        }
        let mut found = Vec::new();
        for due in dues {
            // prices are read net where all is taxed at the sale, and as typed elsewhere
            let reads = match (self.consignment.tax_to_take_out(self.jurisdiction), net) {
                (Included::SaleTax, true) => due.all_at_sale != Some(false),
                _ => true,
            };
            if reads {
                let sale_tax = (net && !asked.held.least.is_nought(), &due.at_sale.sum);
                let tax = if sale_tax.0 {
                    self.tax_beside_held(&frame, &asked, &due)?
                } else {
                    sale_tax.1.clone()
                };
                found.push(self.paid(&frame, &asked, &tax, Some(&due))?.least);
            }
        }
        Ok(Done::Cases(found))
    }

    /// Tax at the sale where prices hold it: what was taken out of them, and the share of the calculated tax that is on freight and
    /// insurance. That share rises with both, so on each line it is at least what the least of both makes it.
    fn tax_beside_held(
        &self,
        frame: &Frame,
        asked: &Asked,
        due: &Due,
    ) -> Result<Between, NoBounds> {
        let (_, step) = around(Dec::new(1, self.currency.digits()))?;
        let beside = frame.plus(&asked.freights, &asked.insurances)?;
        let mut on_them = Vec::new();
        for (line, low) in beside.least.iter().enumerate() {
            let whole = asked.goods.most[line] + low;
            let tax = due.at_sale.least[line].checked_mul(*low);
            let share = tax.ok_or("a figure is too large")?;
            let share = if whole > 0 {
                share.div_euclid(whole)
            } else {
                0
            };
            on_them.push((share - step).max(0));
        }
        let least = frame.lines_of(on_them.clone(), on_them)?.sum;
        Ok(Between {
            least: asked.held.plus(&least)?.least,
            most: asked.held.plus(&due.at_sale.sum)?.most,
            positive: asked.held.positive,
        })
    }

    /// Cuts in minor units, each the last of its part.
    fn cuts(&self, range: (i64, i64), cuts: &[Nano]) -> Vec<i64> {
        let minor = 10_i128.pow(9_u32.saturating_sub(self.currency.digits()));
        let mut found: Vec<i64> = cuts
            .iter()
            .flat_map(|cut| [cut.div_euclid(minor) - 1, cut.div_euclid(minor) + 1])
            .filter_map(|cut| i64::try_from(cut).ok())
            .filter(|cut| *cut >= range.0 && *cut < range.1)
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    fn figures(&self, frame: &Frame, asked: &Asked) -> Result<Figures, NoBounds> {
        let rows = &self.consignment.rows;
        let pieces: Vec<Dec> = rows.iter().map(|row| Dec::from(row.quantity)).collect();
        let mut grams = Vec::new();
        for row in rows {
            let mass = row.mass.map_or(Dec::ZERO, |mass| mass.0);
            grams.push(mass.times(Dec::from(row.quantity))?);
        }
        let kilograms = Self::known(frame, &self.masses)?;
        Ok(Figures {
            list: asked.lists.clone(),
            goods: asked.goods.clone(),
            freight: asked.freights.clone(),
            insurance: asked.insurances.clone(),
            kilograms: frame.scaled(&kilograms, Fraction::of(Dec::ONE, Dec::THOUSAND)?)?,
            pieces: Self::known(frame, &pieces)?,
            grams: Self::known(frame, &grams)?,
            rate: self.customs,
        })
    }

    /// What the seller asks: codes in their turn, tax taken out of prices, freight by mass, insurance by value.
    fn asked(
        &self,
        frame: &Frame,
        carried: &Carried,
        codes: &[&Discount],
        prices: Prices<'_>,
    ) -> Result<Asked, NoBounds> {
        let digits = self.currency.digits();
        let (_, step) = around(Dec::new(1, digits))?;
        let list = Self::known(frame, &self.lists)?;
        let (spend, _) = frame.ends(&list.sum)?;
        let free = self
            .consignment
            .seller
            .and_then(|seller| seller.free_freight_over);
        let is_free = match free {
            Some(over) => spend >= around(over)?.1,
            None => false,
        };
        let mut money = Money {
            left: list.clone(),
            credit: frame.scaled(&list, Fraction::of(Dec::ZERO, Dec::ONE)?)?,
            freight: if is_free {
                Between::default()
            } else {
                carried.asked.clone()
            },
            freight_credit: Between::default(),
        };
        for code in codes {
            let begins = match code.min_spend {
                Some(least) => spend >= around(least)?.1,
                None => true,
            };
            if begins {
                self.take(frame, code, step, &mut money)?;
            }
        }
        let paid = frame.plus(&money.left, &money.credit)?;
        let (goods, held) = self.without_tax(frame, &paid, prices)?;
        let masses = Self::known(frame, &self.masses)?;
        let insurance = match self.consignment.insurance {
            None => Between::default(),
            Some(Insurance::Amount(amount)) => Between::of(amount)?,
            Some(Insurance::Share(percent)) => {
                let base = goods.sum.plus(&money.freight)?;
                let share = base.scaled(Fraction::of(percent.0, Dec::HUNDRED)?)?;
                frame.minor(&share, digits)?
            }
        };
        Ok(Asked {
            credit: money.credit.sum.plus(&money.freight_credit)?,
            freights: frame.share(&money.freight, &masses, step)?,
            freight: money.freight,
            insurances: frame.share(&insurance, &goods, step)?,
            insurance,
            goods,
            held,
            lists: list,
        })
    }

    /// Takes one code off.
    fn take(
        &self,
        frame: &Frame,
        code: &Discount,
        step: Nano,
        money: &mut Money,
    ) -> Result<(), NoBounds> {
        let digits = self.currency.digits();
        let worth = |base: &Between| -> Result<Between, NoBounds> {
            let mut full = match code.worth {
                Worth::Share(percent) => base.scaled(Fraction::of(percent.0, Dec::HUNDRED)?)?,
                Worth::Amount(amount) => Between::of(amount)?,
            };
            if let Some(most) = code.max_off {
                full = frame.lesser_of(&full, &Between::of(most)?)?;
            }
            Ok(frame.minor(&frame.lesser_of(&full, base)?, digits)?)
        };
        if code.scope == Scope::Freight {
            let base = money.freight.minus(&money.freight_credit)?;
            let taken = worth(&base)?;
            match code.pays {
                Pays::Price => {
                    money.freight = money.freight.minus(&taken)?;
                    money.freight.positive = true;
                }
                Pays::Credit => money.freight_credit = money.freight_credit.plus(&taken)?,
            }
            return Ok(());
        }
        let covers: Vec<Option<bool>> = self
            .consignment
            .rows
            .iter()
            .map(|row| Some(super::discount::covers(code, &row.name)))
            .collect();
        let zeros = frame.scaled(&money.left, Fraction::of(Dec::ZERO, Dec::ONE)?)?;
        let base = frame.choose(&covers, &money.left, &zeros)?;
        let whole = worth(&base.sum)?;
        let by_share = matches!((code.worth, code.max_off), (Worth::Share(_), None));
        let taken = match code.worth {
            Worth::Share(percent) if by_share => {
                let exact = frame.scaled(&base, Fraction::of(percent.0, Dec::HUNDRED)?)?;
                let off = |own: &Nano, by: Nano| if *own == 0 { 0 } else { (own + by).max(0) };
                let least = exact.least.iter().map(|own| off(own, -2 * step)).collect();
                let most = exact.most.iter().map(|own| off(own, 3 * step)).collect();
                frame.lines_of(least, most)?.summing_to(whole)
            }
            _ if code.scope == Scope::Item => {
                let each = base.most.iter().enumerate();
                let alone = each.map(|(line, most)| {
                    let figure = Between::ends(base.least[line], *most);
                    worth(&figure)
                });
                let alone = alone.collect::<Result<Vec<_>, _>>()?;
                let least = alone.iter().map(|own| own.least.fixed).collect();
                let most = alone.iter().map(|own| own.most.fixed).collect();
                let own = frame.lines_of(least, most)?;
                frame.choose(&covers, &own, &zeros)?
            }
            _ => frame.share(&whole, &base, step)?,
        };
        money.left = frame.minus(&money.left, &taken)?;
        money
            .left
            .least
            .iter_mut()
            .for_each(|own| *own = (*own).max(0));
        if code.pays == Pays::Credit {
            money.credit = frame.plus(&money.credit, &taken)?;
        }
        Ok(())
    }

    /// Prices without the tax that they hold, and the destination's tax that they held.
    fn without_tax(
        &self,
        frame: &Frame,
        paid: &Each,
        prices: Prices<'_>,
    ) -> Result<(Each, Between), NoBounds> {
        let minor = crate::units::Rounding::minor(self.currency.digits());
        let percents: Vec<Percent> =
            match (self.consignment.tax_to_take_out(self.jurisdiction), prices) {
                (Included::Nothing, _) | (Included::SaleTax, Prices::AsTyped) => {
                    return Ok((paid.clone(), Between::default()));
                }
                (Included::Own(own), _) => vec![own; self.lists.len()],
                (Included::SaleTax, Prices::Net(percents)) => percents.to_vec(),
            };
        let mut shares = Vec::new();
        for percent in percents {
            shares.push(Dec::HUNDRED.over(Dec::HUNDRED.plus(percent.0)?)?);
        }
        let shares = Self::known(frame, &shares)?;
        let net = frame.round(&frame.times(paid, &shares)?, minor)?;
        let held = match self.consignment.tax_to_take_out(self.jurisdiction) {
            Included::SaleTax => frame.minus(paid, &net)?.sum,
            _ => Between::default(),
        };
        Ok((net, held))
    }

    /// What is paid for a package in all.
    fn paid(
        &self,
        frame: &Frame,
        asked: &Asked,
        sale_tax: &Between,
        due: Option<&Due>,
    ) -> Result<Between, NoBounds> {
        let home = self.jurisdiction.currency().digits();
        let sum = asked.goods.sum.minus(&asked.credit)?;
        let sum = sum
            .plus(&asked.freight)?
            .plus(&asked.insurance)?
            .plus(sale_tax)?;
        let (times, over) = self.market.parts();
        let converted = frame.minor(&sum.scaled(Fraction::of(times, over)?)?, home)?;
        let card = card_fee(self.currency, self.jurisdiction);
        let fee = converted.scaled(Fraction::of(card.0, Dec::HUNDRED)?)?;
        let fee = if card.0.is_zero() {
            fee
        } else {
            frame.minor(&fee, home)?
        };
        let cost = converted.plus(&fee)?;
        match due {
            Some(due) if !self.consignment.pays_duty() => Ok(cost.plus(&due.at_door)?),
            _ => Ok(cost),
        }
    }

    /// The steps of weight, each with its freight and its law.
    fn carried(&self) -> Result<Vec<Carried>, NoBounds> {
        let heaviest = self.heaviest()?;
        let mut limits: Vec<Option<Dec>> = Vec::new();
        for step in &self.steps {
            limits.push(match step.up_to_g {
                Some(up_to) => Some(self.packed_below(step, up_to)?),
                None => None,
            });
        }
        if let Some(last) = self.steps.last().filter(|last| last.extra_per_kg.is_some()) {
            // a case for each of the first kilograms beyond the last step
            for kilogram in 1..=20_u32 {
                let beyond = Dec::THOUSAND.times(Dec::from(kilogram))?;
                let charged = last.up_to_g.unwrap_or(Dec::ZERO).plus(beyond)?;
                limits.push(Some(self.packed_below(last, charged)?));
            }
            limits.push(None);
        }
        if self.steps.is_empty() {
            limits.push(None);
        }
        let ruled = self.ruled_limits()?;
        limits.extend(ruled.iter().map(|limit| Some(*limit)));
        limits.sort_unstable_by_key(|limit| (limit.is_none(), *limit));
        limits.dedup();
        let mut found = Vec::new();
        let mut before = Dec::ZERO;
        for limit in limits {
            if before > heaviest {
                break;
            }
            let views = self.views(before, limit.unwrap_or(heaviest))?;
            found.push(Carried {
                up_to: limit.filter(|limit| *limit < heaviest),
                asked: self.freight_within(before, limit.unwrap_or(heaviest))?,
                views,
            });
            before = limit.unwrap_or(heaviest);
        }
        Ok(found)
    }

    fn heaviest(&self) -> Result<Dec, NoBounds> {
        let mut most: BTreeMap<usize, Dec> = BTreeMap::new();
        let mut sum = Dec::ZERO;
        for (mass, slot) in self.masses.iter().zip(&self.slots) {
            match slot {
                Some(slot) => {
                    let own = most.entry(*slot).or_insert(Dec::ZERO);
                    *own = (*own).max(*mass);
                }
                None => sum = sum.plus(*mass)?,
            }
        }
        Ok(Dec::total(most.into_values().chain([sum]))?)
    }

    /// The packed mass at which a schedule charges a mass: without what it adds for packing.
    fn packed_below(&self, step: &FreightStep, charged: Dec) -> Result<Dec, NoBounds> {
        let first = self.steps.first().copied().unwrap_or(step);
        let share = Dec::HUNDRED.plus(first.packing_percent)?;
        Ok(charged
            .minus(first.packing_g)?
            .times(Dec::HUNDRED)?
            .over(share)?)
    }

    /// Masses at which a schedule that rules name has a step.
    fn ruled_limits(&self) -> Result<Vec<Dec>, NoBounds> {
        let Some(wide) = &self.wide else {
            return Ok(Vec::new());
        };
        let mut found = Vec::new();
        for name in wide.prepared.program.schedules() {
            let steps = self.ruled(name);
            if self.steps.first().is_some_and(|first| {
                first.volumetric_divisor.is_some()
                    || !first.packing_percent.is_zero()
                    || !first.packing_g.is_zero()
            }) || steps
                .iter()
                .any(|step| step.pro_rata || step.extra_per_kg.is_some())
            {
                return Err("a rule's own freight hangs on more than steps of mass".into());
            }
            found.extend(steps.iter().filter_map(|step| step.up_to_g));
        }
        Ok(found)
    }

    fn ruled(&self, name: &str) -> Vec<&'a FreightStep> {
        let own = &self.consignment;
        self.jurisdiction
            .schedule(name, own.dispatch.code(), own.channel.name(), own.arrival)
    }

    /// The law for packages up to a mass.
    fn views(&self, before: Dec, mass: Dec) -> Result<Vec<View>, NoBounds> {
        let Some(wide) = &self.wide else {
            return Ok(Vec::new());
        };
        let program = &wide.prepared.program;
        let mut found = Vec::new();
        for (dearest, own) in &wide.parcels {
            let written = |parcel: &crate::rules::Parcel| -> Result<Read, NoBounds> {
                let mut parcel = parcel.clone();
                for name in program.schedules() {
                    let price = ruled_freight(
                        name,
                        &self.consignment,
                        self.jurisdiction,
                        Grams(mass.max(before)),
                    )?;
                    parcel.schedules.insert(name.to_owned(), price);
                }
                let (form, marks) = lower_open(program, &parcel)?
                    .ok_or("a row looks at which parts of one thing are there")?;
                Ok(Read { form, marks })
            };
            found.push(View {
                sale_tax: program.sale_tax_rates(dearest)?,
                own: own.as_ref().map(written).transpose()?,
                dearest: written(dearest)?,
            });
        }
        Ok(found)
    }

    /// What the seller asks for carrying packages of a mass above one and up to another.
    fn freight_within(&self, before: Dec, up_to: Dec) -> Result<Between, NoBounds> {
        let name = match &self.consignment.freight {
            Freight::Unknown => return Ok(Between::default()),
            Freight::Amount(amount) => return Ok(Between::of(*amount)?),
            Freight::Schedule(name) => name,
        };
        let Some(first) = self.steps.first() else {
            return Err(NoBounds(format!("the schedule {name} has no step")));
        };
        let boxes = self.consignment.rows.iter().any(|row| row.box_cm.is_some());
        if boxes && first.volumetric_divisor.is_some() {
            return Err("freight by the volume of boxes".into());
        }
        let (low, high) = (
            charged_mass(&self.steps, before, Dec::ZERO)?,
            charged_mass(&self.steps, up_to, Dec::ZERO)?,
        );
        let fits = |step: &&&FreightStep| step.up_to_g.is_none_or(|up_to| high <= up_to);
        let price = match self.steps.iter().find(fits) {
            Some(step) => match step.up_to_g.filter(|_| step.pro_rata) {
                Some(most) if most.is_positive() => (
                    step.price.times(low)?.over(most)?,
                    step.price.times(high)?.over(most)?,
                ),
                _ => (step.price, step.price),
            },
            None => {
                let last = self.steps.last().ok_or("a schedule has no step")?;
                let extra = last
                    .extra_per_kg
                    .ok_or("a schedule ends below the heaviest parcel")?;
                let up_to = last
                    .up_to_g
                    .ok_or("the last step of a schedule has no end and is passed over")?;
                let beyond = |mass: Dec| -> Result<Dec, Overflow> {
                    let beyond = mass.minus(up_to)?.max(Dec::ZERO);
                    let kilograms = beyond.over(Dec::THOUSAND)?;
                    last.price
                        .plus(extra.times(kilograms.round_to(0, crate::units::Mode::Ceiling))?)
                };
                (beyond(low)?, beyond(high)?)
            }
        };
        let (least, _) = around(self.in_sellers_money(price.0, first)?)?;
        let (_, most) = around(self.in_sellers_money(price.1, first)?)?;
        Ok(Between::ends(least, most))
    }

    fn in_sellers_money(&self, price: Dec, first: &FreightStep) -> Result<Dec, NoBounds> {
        let minor = crate::units::Rounding::minor(self.currency.digits());
        if first.currency == self.currency {
            return Ok(minor.apply(price)?);
        }
        let day = self.consignment.ordered;
        let into_home = self.jurisdiction.market_rate(first.currency, day)?.rate;
        let to_seller = self.jurisdiction.market_rate(self.currency, day)?.rate;
        Ok(minor.apply(to_seller.back(into_home.convert(price)?)?)?)
    }
}

/// What is left of prices and freight while codes are taken.
struct Money {
    left: Each,
    credit: Each,
    freight: Between,
    freight_credit: Between,
}

/// What became of a range.
enum Done {
    Cases(Vec<Lin>),
    /// It ends above each of these and begins anew.
    Split(Vec<i64>),
}

/// All readings of a case: one, or two for each comparison that it does not settle; or where it must be split.
fn readings(
    law: &Read,
    frame: &Frame,
    figures: &Figures,
    enough: bool,
) -> Result<Result<Vec<Due>, Vec<Nano>>, NoBounds> {
    let mut open = vec![Supposed {
        enough,
        ..Supposed::default()
    }];
    let mut found = Vec::new();
    while let Some(supposed) = open.pop() {
        match read(&law.form, &law.marks, frame, figures, &supposed) {
            Ok(due) => found.push(due),
            Err(Stop::Unbounded(why)) => return Err(why.into()),
            Err(Stop::Split(cuts)) => return Ok(Err(cuts)),
            Err(Stop::Fork(at)) => {
                for holds in [true, false] {
                    let mut own = supposed.clone();
                    own.held.insert(at, holds);
                    own.enough = own.held.len() >= FORKS;
                    open.push(own);
                }
            }
        }
    }
    Ok(Ok(found))
}
