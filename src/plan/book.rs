//! A book as a choice problem: offers priced by the decimal engine, packages remembered, the chosen plan costed again.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use super::cases::Bounds;
use super::model::{Case, Cases, LARGEST, Model, NO_LIMIT, Offer, PackageCost, UNIT};
use super::pool::{Bid, HOME, Pool, is_committed, parcel_of};
use super::ready::Ready;
use super::refusal::{FINER, too_large, too_many};
use super::watch::Watch;
use crate::book::{Book, Discount, FitValue, Included, Part, Remedies, Role, Standing, Worth};
use crate::landed::{Bill, Jurisdiction, bills_of, is_reckoned, landed_rows};
use crate::text::Problems;
use crate::units::{Dec, Grams, Mode};
use crate::value::fit::{self, suits};

/// Packages of one parcel that are priced one by one; beyond that they are bounded by their goods alone.
const ROOM: usize = 65_536;

/// Steps of a walk over the packages of a larger parcel: most steps ask the decimal engine.
const PATIENCE: u64 = 600;

/// A book's choice, compiled.
pub(super) struct Compiled<'a> {
    pub(super) model: Model,
    pub(super) pool: Pool<'a>,
    pub(super) book: &'a Book,
    pub(super) jurisdiction: &'a Jurisdiction<'a>,
    /// Parcels by number; the last is for what costs nothing more.
    pub(super) parcels: Vec<String>,
    /// Rows of each parcel that come whatever is chosen.
    pub(super) base: Vec<Vec<&'a Part>>,
    pub(super) base_cost: Vec<i64>,
    /// Rows that are paid for, whatever is chosen.
    pub(super) sure: Vec<&'a Part>,
    pub(super) sure_cost: i64,
    pub(super) sure_mass: i64,
    memo: RefCell<BTreeMap<Vec<u32>, Option<i64>>>,
    pub(super) refused: RefCell<Option<Problems>>,
    /// By parcel, why offers that can be had one by one cannot be had together.
    pub(super) not_together: RefCell<BTreeMap<usize, String>>,
    /// The largest cost of a package seen, by parcel.
    largest: RefCell<Vec<i64>>,
    /// By parcel, but for what costs nothing more.
    ready: Vec<Ready<'a>>,
    watch: &'a dyn Watch,
}

impl<'a> Compiled<'a> {
    /// Compiles a book's choice.
    pub(super) fn new(
        pool: Pool<'a>,
        book: &'a Book,
        jurisdiction: &'a Jurisdiction<'a>,
        max_sellers: Option<usize>,
        watch: &'a dyn Watch,
    ) -> Result<Compiled<'a>, Problems> {
        let priced = |row: &Part| row.standing == Standing::ToOrder && is_reckoned(row);
        let asked = pool.bids.iter().filter(|b| priced(b.row));
        let mut parcels: Vec<String> = asked.map(|b| parcel_of(b.row)).collect();
        parcels.sort();
        parcels.dedup();
        let sure = without_choice(&pool);
        let of = |name: &String| {
            let own = |row: &&Part| priced(row) && parcel_of(row) == *name;
            sure.iter().copied().filter(own).collect::<Vec<_>>()
        };
        let base: Vec<Vec<&Part>> = parcels.iter().map(of).collect();
        parcels.push(String::new());
        let mass: i64 = pool
            .settled
            .iter()
            .map(|row| pool.masses.of(row, jurisdiction))
            .sum();
        let parcels_len = parcels.len();
        let mut all = Compiled {
            model: Model::default(),
            book,
            jurisdiction,
            base_cost: vec![0; parcels_len],
            base: base.into_iter().chain([Vec::new()]).collect(),
            parcels,
            sure_cost: 0,
            sure_mass: mass + pool.masses.beside,
            sure,
            pool,
            memo: RefCell::default(),
            refused: RefCell::default(),
            not_together: RefCell::default(),
            largest: RefCell::new(vec![0; parcels_len]),
            ready: Vec::new(),
            watch,
        };
        for at in 0..all.base.len() {
            all.base_cost[at] = all.cost_of(&all.base[at])?;
        }
        all.sure_cost = all.cost_of(&all.sure)?;
        all.model = all.compile(max_sellers)?;
        all.make_ready();
        Ok(all)
    }

    /// What rows cost that are bought whatever is chosen, as the search counts it.
    fn cost_of(&self, rows: &[&Part]) -> Result<i64, Problems> {
        let landed = landed_rows(self.book, rows, self.jurisdiction)?;
        let cost = self.searchable(landed);
        cost.ok_or_else(|| too_large(rows, self.jurisdiction))
    }

    /// Makes each parcel's offers ready, and gives them the sums that cases look at.
    fn make_ready(&mut self) {
        let nobody = self.parcels.len() - 1;
        for parcel in 0..nobody {
            let ready = Ready::of(self, parcel);
            if let Some(bounds) = &ready.bounds {
                for (local, at) in ready.offers.iter().enumerate() {
                    let offer = &mut self.model.offers[*at as usize];
                    (offer.goods, offer.weight) = (bounds.goods[local], bounds.weight[local]);
                }
            }
            self.ready.push(ready);
        }
    }

    /// What a package lands at in whole numbers, with what comes anyway; none where its bill must be asked.
    pub(super) fn quickly(&self, seller: usize, offers: &[u32]) -> Option<Dec> {
        self.ready.get(seller)?.landed(offers)
    }

    /// The least of the cases in which a package lies, in [`UNIT`]s; none where it lies in none.
    #[cfg(test)]
    pub(super) fn least(&self, seller: usize, package: &[u32]) -> Option<i64> {
        let of = |at: &u32| &self.model.offers[*at as usize];
        let numbered = (0..).zip(&self.model.offers);
        let mine: Vec<u32> = numbered
            .filter(|(_, offer)| offer.seller == seller)
            .map(|(at, _)| at)
            .collect();
        let goods: i64 = package.iter().map(|at| of(at).goods).sum();
        let weight: i64 = package.iter().map(|at| of(at).weight).sum();
        let all = self.cases(seller);
        let holds = all.cases.iter().filter(|case| {
            (case.goods_least..=case.goods_most).contains(&goods) && weight <= case.weight_most
        });
        let share = |class: usize, at: &u32| {
            let local = mine.binary_search(at).ok()?;
            Some(all.classes[class][local])
        };
        let sum = |case: &Case| {
            let own = package.iter().map(|at| share(case.class, at));
            Some(case.fixed + own.sum::<Option<i64>>()?)
        };
        holds.filter_map(sum).min()
    }

    fn bounds(&self, parcel: usize) -> Option<&Bounds> {
        self.ready.get(parcel)?.bounds.as_ref()
    }

    /// An amount in the search's units.
    pub(super) fn units(&self, amount: Dec) -> Option<i64> {
        let decimals = self.jurisdiction.currency().digits() + FINER;
        amount
            .round_to(decimals, Mode::HalfUp)
            .small_units(decimals)
    }

    /// The same, where it is within what the search calculates with.
    fn searchable(&self, amount: Dec) -> Option<i64> {
        self.units(amount)
            .filter(|units| units.unsigned_abs() <= LARGEST.unsigned_abs())
    }

    /// The cost of a package, unless the packages of all parcels could come to more than the search calculates with: twice what is
    /// foreseen of the dearest packages, as codes and free freight are left aside there.
    fn bounded(&self, seller: usize, units: i64) -> Option<i64> {
        let mut largest = self.largest.borrow_mut();
        let own = largest.get_mut(seller)?;
        *own = (*own).max(units.checked_abs()?);
        let together = largest
            .iter()
            .try_fold(0i64, |sum, one| sum.checked_add(*one));
        together.filter(|sum| *sum <= 2 * LARGEST).map(|_| units)
    }

    /// Whether a plan of this cost and mass is within the budget and the mass limit, where there are such.
    pub(super) fn allows(&self, cost: i64, mass: i64) -> bool {
        let ask = self.jurisdiction.ask;
        ask.budget
            .is_none_or(|budget| self.landed_at(cost) <= budget)
            && ask.max_mass.is_none_or(|most| self.mass_at(mass) <= most)
    }

    /// What the build lands at with a choice of this cost, in the search's units.
    pub(super) fn landed_at(&self, cost: i64) -> Dec {
        self.amount(cost.saturating_add(self.sure_cost))
    }

    /// What the bike weighs with a choice of this mass, in tenths of a gram.
    pub(super) fn mass_at(&self, mass: i64) -> Grams {
        Grams(Dec::new(mass.saturating_add(self.sure_mass), 1))
    }

    /// What a choice may cost within a budget; one beyond every sum of a choice is no limit.
    pub(super) fn cost_within(&self, budget: Dec) -> i64 {
        self.units(budget).unwrap_or(LARGEST).min(LARGEST) - self.sure_cost
    }

    /// What a choice may weigh within a mass limit, in tenths of a gram.
    pub(super) fn mass_within(&self, most: Grams) -> i64 {
        let tenths = most.0.round_to(1, Mode::Down).small_units(1);
        tenths.unwrap_or(LARGEST).min(LARGEST) - self.sure_mass
    }

    /// The bills of some rows, without the doubts beside them.
    pub(super) fn bills(&self, rows: &[&Part]) -> Result<Vec<Bill>, Problems> {
        let remedies = self.jurisdiction.ask.remedies == Remedies::Count;
        bills_of(self.book, rows, self.jurisdiction, remedies)
    }

    /// The search's units as an amount.
    pub(super) fn amount(&self, units: i64) -> Dec {
        Dec::new(units, self.jurisdiction.currency().digits() + FINER)
    }

    /// One row as the search knows it.
    fn offer(&self, bid: &Bid<'_>, keys: &[(String, Vec<String>)]) -> Offer {
        let nobody = self.parcels.len() - 1;
        let bought = bid.row.standing == Standing::ToOrder && is_reckoned(bid.row);
        let seller = if bought {
            let own = parcel_of(bid.row);
            let at = self.parcels.iter().position(|p| *p == own);
            at.unwrap_or(nobody)
        } else {
            nobody
        };
        let fits = bid.row.fits.iter().filter_map(|(key, value)| {
            let at = keys.iter().position(|(name, _)| name == key)?;
            Some((at, mask_of(&keys[at].1, value)))
        });
        Offer {
            seller,
            places: if bid.seats.iter().any(|s| *s >= 64) {
                0
            } else {
                bid.seats.iter().fold(0, |m, s| m | 1 << s)
            },
            mass: self.pool.masses.of(bid.row, self.jurisdiction),
            goods: self.goods(bid.row).unwrap_or(0),
            weight: 0,
            fits: fits.collect(),
            needs: self.needs(&bid.needs),
        }
    }

    /// For each parcel the first one of the same seller.
    fn first_parcels(&self) -> Vec<usize> {
        let names: Vec<Option<&String>> =
            (0..self.base.len()).map(|at| self.seller_of(at)).collect();
        let first = |at: usize| (0..at).find(|other| names[*other] == names[at]);
        (0..names.len()).map(|at| first(at).unwrap_or(at)).collect()
    }

    fn compile(&self, max_sellers: Option<usize>) -> Result<Model, Problems> {
        too_many(&self.pool, &self.parcels)?;
        let nobody = self.parcels.len() - 1;
        let keys = self.keys();
        let of = |bid: &Bid<'_>| self.offer(bid, &keys);
        let mut offers: Vec<Offer> = self.pool.bids.iter().map(of).collect();
        self.join_apart(&mut offers);
        let required = self
            .pool
            .seats
            .iter()
            .take(64)
            .enumerate()
            .filter(|(_, s)| s.required)
            .fold(0, |m, (at, _)| m | 1 << at);
        let free =
            |at: usize| at == nobody || self.parcels[at] == HOME || !self.base[at].is_empty();
        let same = self.first_parcels();
        let settled = (0..self.base.len())
            .filter(|at| free(*at))
            .map(|at| same[at]);
        let model = Model {
            places: self.pool.seats.len(),
            required,
            offers,
            sellers: self.parcels.len(),
            max_sellers: max_sellers.map(|most| most.saturating_sub(self.firm().len())),
            settled: settled.fold(0, |m, at| m | 1 << at),
            same,
            begin: vec![self.build()],
            joints: keys
                .iter()
                .map(|(key, choices)| self.open_values(key, choices))
                .collect(),
        };
        let rows: Vec<&Part> = self.pool.bids.iter().map(|bid| bid.row).collect();
        model
            .check()
            .map_err(|_| too_large(&rows, self.jurisdiction))?;
        Ok(model)
    }

    /// Sellers that are ordered from whatever is chosen; what is bought at home over the counter has none.
    pub(super) fn firm(&self) -> BTreeSet<String> {
        let ordered = |row: &&&Part| {
            row.standing == Standing::ToOrder && is_reckoned(row) && row.seller.is_some()
        };
        self.sure
            .iter()
            .filter(ordered)
            .filter_map(|row| row.seller.clone())
            .collect()
    }

    /// The offers of the build as it stands.
    fn build(&self) -> Vec<u32> {
        let bids = self.pool.bids.iter().enumerate();
        bids.filter(|(_, bid)| bid.row.role == Role::Build)
            .map(|(at, _)| at as u32)
            .collect()
    }

    /// Each entry: the offers of a needed part; what is settled is not asked for.
    fn needs(&self, names: &[String]) -> Vec<Vec<u32>> {
        let open = names
            .iter()
            .filter(|name| !self.pool.settled.iter().any(|row| row.name == **name));
        open.map(|name| {
            (0..self.pool.bids.len())
                .filter(|at| self.pool.bids[*at].row.name == *name)
                .map(|at| at as u32)
                .collect()
        })
        .collect()
    }

    /// Keys that the choice touches.
    fn touched(&self) -> BTreeSet<&'a String> {
        self.pool
            .bids
            .iter()
            .flat_map(|b| b.row.fits.keys())
            .collect()
    }

    /// The two places of a key's joint, where several pieces are at one of them: a front and a rear rotor need not be
    /// alike, but each must suit a part on the other side.
    fn apart(&self, key: &str) -> Option<[&'a String; 2]> {
        let [one, other] = fit::joint(key, self.jurisdiction)?.between.as_slice() else {
            return None;
        };
        let pieces = |place: &String| {
            let settled = self
                .pool
                .settled
                .iter()
                .filter(|row| row.places.contains(place) && row.fits.contains_key(key));
            settled.count()
                + self
                    .pool
                    .seats
                    .iter()
                    .filter(|seat| seat.place == *place)
                    .count()
        };
        (pieces(one) > 1 || pieces(other) > 1).then_some([one, other])
    }

    /// What a joint of several pieces asks of an offer is one of the offers that suit it on the other side.
    fn join_apart(&self, offers: &mut [Offer]) {
        for key in self.touched() {
            let Some([one, other]) = self.apart(key) else {
                continue;
            };
            for (here, there) in [(one, other), (other, one)] {
                self.join_sides(key, here, there, offers);
            }
        }
    }

    fn join_sides(&self, key: &String, here: &String, there: &String, offers: &mut [Offer]) {
        let pool = &self.pool;
        let bids = || (0_u32..).zip(&pool.bids).map(|(at, bid)| (at, bid.row));
        let settled_at = |place| {
            let own = pool
                .settled
                .iter()
                .filter(move |row| row.places.contains(place));
            own.filter_map(|row| row.fits.get(key))
        };
        let settled: Vec<&FitValue> = settled_at(there).collect();
        let suiting = |value: &FitValue, silent: bool| -> Vec<u32> {
            let suits = |row: &Part| {
                row.fits
                    .get(key)
                    .map_or(silent, |other| fit::agree(&[value, other]))
            };
            bids()
                .filter(|(_, row)| row.places.contains(there) && suits(row))
                .map(|(at, _)| at)
                .collect()
        };
        let stated =
            bids().any(|(_, row)| row.places.contains(there) && row.fits.contains_key(key));
        let alone = |value: &FitValue| {
            (stated || !settled.is_empty())
                && !settled.iter().any(|other| fit::agree(&[value, other]))
        };
        for (at, row) in bids().filter(|(_, row)| row.places.contains(here)) {
            if let Some(value) = row.fits.get(key).filter(|value| alone(value)) {
                offers[at as usize]
                    .needs
                    .push(suiting(value, settled.is_empty()));
            }
        }
        // what is settled on this side asks it of every offer that speaks on the other
        for value in settled_at(here).filter(|value| alone(value)) {
            let any = suiting(value, false);
            for (at, _) in
                bids().filter(|(_, row)| row.places.contains(there) && row.fits.contains_key(key))
            {
                offers[at as usize].needs.push(any.clone());
            }
        }
    }

    /// Keys of joints that the choice touches and that must have one value, with every value anybody says.
    fn keys(&self) -> Vec<(String, Vec<String>)> {
        let touched: BTreeSet<&String> = self
            .touched()
            .into_iter()
            .filter(|key| self.apart(key).is_none())
            .collect();
        let rows = || {
            self.pool
                .bids
                .iter()
                .map(|b| b.row)
                .chain(self.pool.settled.iter().copied())
        };
        let of = |key: &&String| {
            let mut values: Vec<String> = Vec::new();
            for value in rows().filter_map(|row| row.fits.get(*key)) {
                match value {
                    FitValue::Any(any) => values.extend(any.iter().cloned()),
                    FitValue::AtMost(limit) | FitValue::AtLeast(limit) => {
                        values.push(format!("={limit}"));
                    }
                }
            }
            values.sort();
            values.dedup();
            values.truncate(64);
            ((*key).clone(), values)
        };
        touched.iter().map(of).collect()
    }

    fn open_values(&self, key: &str, choices: &[String]) -> u64 {
        let said = self.pool.settled.iter().filter_map(|row| row.fits.get(key));
        said.fold(u64::MAX, |open, value| open & mask_of(choices, value))
    }

    /// A row's goods in the search's units, by the market rate; only the bounds of large parcels look at it.
    fn goods(&self, row: &Part) -> Option<i64> {
        let list = row.price?.times(Dec::from(row.quantity)).ok()?;
        let currency = row.currency.unwrap_or(self.jurisdiction.currency());
        let quote = self
            .jurisdiction
            .market_rate(currency, self.jurisdiction.ask.date)
            .ok()?;
        self.units(quote.rate.convert(list).ok()?)
    }

    /// Rows of a package with those that come anyway.
    pub(super) fn rows(&self, seller: usize, offers: &[u32]) -> Vec<&'a Part> {
        let chosen = offers.iter().map(|o| self.pool.bids[*o as usize].row);
        self.base[seller].iter().copied().chain(chosen).collect()
    }

    /// The first refusal of the engine, if there was one.
    pub(super) fn refusal(&self) -> Option<Problems> {
        self.refused.borrow_mut().take()
    }

    /// Every row that a plan pays for or puts on the bike.
    pub(super) fn plan_rows(&self, offers: &[u32]) -> Vec<&'a Part> {
        let chosen = offers
            .iter()
            .map(|o| self.pool.bids[*o as usize].row)
            .filter(|row| !is_committed(row));
        self.sure.iter().copied().chain(chosen).collect()
    }

    /// Who sends a parcel; nobody what is at home.
    fn seller_of(&self, parcel: usize) -> Option<&'a String> {
        let row = self
            .pool
            .bids
            .iter()
            .map(|b| b.row)
            .find(|row| is_reckoned(row) && parcel_of(row) == self.parcels[parcel]);
        row.and_then(|row| row.seller.as_ref())
    }

    /// Codes of a parcel's seller.
    fn codes(&self, seller: usize) -> impl Iterator<Item = &'a Discount> {
        let name = self.seller_of(seller);
        self.book
            .discounts
            .iter()
            .filter(move |d| Some(&d.seller) == name)
    }
}

/// The values that are among those said, one bit each; a limit's own figure counts for limits only.
fn mask_of(choices: &[String], value: &FitValue) -> u64 {
    let holds = |choice: &String| match choice.strip_prefix('=') {
        Some(figure) => !matches!(value, FitValue::Any(_)) && suits(figure, value),
        None => suits(choice, value),
    };
    let held = choices.iter().enumerate().filter(|(_, c)| holds(c));
    held.fold(0, |mask, (at, _)| mask | 1 << at)
}

impl Compiled<'_> {
    /// What is left of a hundred, and what is taken off beside, when every code of a seller takes all it can.
    fn most_off(&self, seller: usize, name: Option<&String>) -> (i64, i64) {
        let (mut share, mut off) = (100i64, 0i64);
        if seller + 1 == self.parcels.len() {
            return (share, off);
        }
        let currency = name
            .and_then(|name| self.book.sellers.get(name)?.currency)
            .unwrap_or(self.jurisdiction.currency());
        for code in self.codes(seller) {
            match code.worth {
                Worth::Share(percent) => {
                    let taken = percent.0.round_to(0, Mode::Up).small_units(0);
                    share -= taken.unwrap_or(100);
                }
                Worth::Amount(amount) => {
                    let quote = self
                        .jurisdiction
                        .market_rate(currency, self.jurisdiction.ask.date)
                        .ok();
                    let worth = quote
                        .and_then(|q| q.rate.convert(amount).ok())
                        .and_then(|a| self.units(a));
                    off = worth
                        .and_then(|worth| off.checked_add(worth))
                        .unwrap_or(LARGEST)
                        .min(LARGEST);
                }
            }
        }
        (share, off)
    }
}

impl PackageCost for Compiled<'_> {
    fn exact(&self, seller: usize, offers: &[u32]) -> Option<i64> {
        if seller + 1 == self.parcels.len() {
            return Some(0);
        }
        if let Some(known) = self.memo.borrow().get(offers) {
            return *known;
        }
        let rows = || self.rows(seller, offers);
        let landed = self
            .quickly(seller, offers)
            .map_or_else(|| landed_rows(self.book, &rows(), self.jurisdiction), Ok);
        let cost = match landed {
            Ok(landed) => {
                let own = self
                    .units(landed)
                    .and_then(|units| units.checked_sub(self.base_cost[seller]));
                let bounded = own.and_then(|own| self.bounded(seller, own));
                if bounded.is_none() {
                    self.refused
                        .borrow_mut()
                        .get_or_insert_with(|| too_large(&rows(), self.jurisdiction));
                }
                bounded
            }
            Err(problems) => self.unpriced(seller, offers, problems),
        };
        self.memo.borrow_mut().insert(offers.to_vec(), cost);
        cost
    }

    /// Goods less the most that codes can take; no charge is counted, and none is below zero.
    fn cases(&self, seller: usize) -> Cases {
        if let Some(bounds) = self.bounds(seller) {
            return bounds.cases.clone();
        }
        let mine = |o: &&Offer| o.seller == seller;
        let mut half = self.base[seller].iter().chain(
            self.pool
                .bids
                .iter()
                .filter(|b| parcel_of(b.row) == self.parcels[seller])
                .map(|b| &b.row),
        );
        let name = half.find_map(|row| row.seller.as_ref());
        let taxed = name
            .and_then(|n| self.book.sellers.get(n))
            .is_some_and(|s| s.prices_include != Included::Nothing);
        let (share, off) = self.most_off(seller, name);
        let share = share.max(0) / if taxed { 2 } else { 1 };
        // no code takes more than the goods come to
        let off = off.min(self.model.offers.iter().filter(mine).map(|o| o.goods).sum());
        let free = seller + 1 == self.parcels.len();
        let of = |o: &Offer| {
            if free {
                0
            } else {
                o.goods / 100 * share * UNIT
            }
        };
        let classes = vec![self.model.offers.iter().filter(mine).map(of).collect()];
        let fixed = if free {
            0
        } else {
            -(self.base_cost[seller] + off + 100) * UNIT
        };
        Cases {
            classes,
            cases: vec![Case {
                class: 0,
                fixed,
                goods_least: 0,
                goods_most: NO_LIMIT,
                weight_most: NO_LIMIT,
            }],
        }
    }

    fn is_late(&self) -> bool {
        self.watch.stop().is_some()
    }

    fn patience(&self, seller: usize) -> u64 {
        if seller + 1 == self.parcels.len() || self.bounds(seller).is_some() {
            u64::MAX
        } else {
            PATIENCE
        }
    }

    fn room(&self, seller: usize) -> usize {
        if seller + 1 == self.parcels.len() || self.bounds(seller).is_some() {
            0
        } else {
            ROOM
        }
    }
}

/// The rows about which there is nothing to choose, each once.
fn without_choice<'a>(pool: &Pool<'a>) -> Vec<&'a Part> {
    let mut sure: Vec<&Part> = pool.settled.clone();
    let is_new = |row: &&Part| !pool.settled.iter().any(|s| std::ptr::eq(*s, *row));
    sure.extend(pool.committed.iter().copied().filter(is_new));
    sure
}
