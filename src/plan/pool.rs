//! Which rows of a book are a choice at all: seats to be filled, offers that fill them, and what is settled from the start.

use std::collections::{BTreeMap, BTreeSet};

use super::mass::Masses;
use crate::book::{Book, Part, Role, Standing};
use crate::landed::{Jurisdiction, counts, on_the_bike};
use crate::tables::Need;
use crate::value::bench::{Bench, There, claimed};
use crate::value::pieces;

/// What the user wishes beside limits of money and mass.
#[derive(Debug, Clone, Default)]
pub struct Wishes {
    /// Parts that must be in the plan.
    pub keep: Vec<String>,
    /// Sellers that nothing is ordered from.
    pub without: Vec<String>,
    /// At most this many sellers to order from.
    pub max_sellers: Option<usize>,
    /// The whole frontier.
    pub frontier: bool,
    /// The lightest within the budget, even where a mass is given too.
    pub lightest: bool,
}

/// A row that may fill its seats.
#[derive(Debug, Clone)]
pub(super) struct Bid<'a> {
    pub(super) row: &'a Part,
    pub(super) seats: BTreeSet<usize>,
    /// Parts of which an offer must be chosen with it.
    pub(super) needs: Vec<String>,
}

/// One place that one build row fills, or that is empty so far.
#[derive(Debug, Clone)]
pub(super) struct Seat {
    pub(super) place: String,
    pub(super) required: bool,
}

/// The choice of a book.
#[derive(Debug, Default)]
pub(super) struct Pool<'a> {
    pub(super) seats: Vec<Seat>,
    pub(super) bids: Vec<Bid<'a>>,
    /// On the bike whatever is chosen, or carrying money without a place.
    pub(super) settled: Vec<&'a Part>,
    /// Paid for or given already: their money counts even when something else takes their place.
    pub(super) committed: Vec<&'a Part>,
    /// Why a row is not among the offers.
    pub(super) left_out: Vec<(String, String)>,
    /// Places that the build leaves empty and for which nothing is offered.
    pub(super) unfilled: Vec<String>,
    /// What its rows weigh.
    pub(super) masses: Masses,
}

/// Why no plan can exist, before anything is searched.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Bare {
    /// Required places that no offer fills.
    Places(Vec<String>),
    /// A part to keep that is no offer, with the reason.
    Kept(String, String),
}

/// Whether money for it is spent, or nobody pays.
pub(super) fn is_committed(row: &Part) -> bool {
    matches!(
        row.standing,
        Standing::OnOrder | Standing::InHand | Standing::Given
    )
}

impl<'a> Pool<'a> {
    /// Lays out a book's choice.
    pub(super) fn open(
        book: &'a Book,
        jurisdiction: &Jurisdiction<'a>,
        wishes: &Wishes,
        masses: Masses,
    ) -> Result<Pool<'a>, Bare> {
        let mut pool = Pool {
            masses,
            ..Pool::default()
        };
        let build: Vec<&Part> = book.build().filter(|row| !row.is_open()).collect();
        pool.committed = book
            .paid_for()
            .filter(|row| !row.is_open() && is_committed(row))
            .collect();
        let mut at: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        let mut unpriced: Vec<(&Part, BTreeSet<usize>)> = Vec::new();
        let rivalled: BTreeSet<&str> = book
            .parts
            .iter()
            .filter(|row| row.role == Role::Rival)
            .map(|row| row.name.as_str())
            .collect();
        for row in &build {
            if !on_the_bike(row, jurisdiction) {
                if row.standing == Standing::ToOrder && rivalled.contains(row.name.as_str()) {
                    pool.seats.push(Seat {
                        place: row.places.join(" + "),
                        required: true,
                    });
                    pool.bid(row, BTreeSet::from([pool.seats.len() - 1]));
                } else {
                    pool.settled.push(row);
                }
                continue;
            }
            let mut seats = BTreeSet::new();
            for place in row
                .places
                .iter()
                .filter(|p| jurisdiction.place(p).is_some_and(|p| !p.is_workshop()))
            {
                at.entry(place.clone()).or_default().push(pool.seats.len());
                seats.insert(pool.seats.len());
                pool.seats.push(Seat {
                    place: place.clone(),
                    required: true,
                });
            }
            if row.standing == Standing::ToOrder && row.price.is_none() {
                unpriced.push((row, seats));
            } else {
                pool.bid(row, seats);
            }
        }
        let open = pool.open_seats(book, jurisdiction, &mut at);
        let held = pool.seats.len();
        pool.empty_seats(book, jurisdiction, &mut at);
        let empty = held..pool.seats.len();
        for row in book.offers() {
            pool.alternative(row, book, jurisdiction, &at);
        }
        pool.without_price(unpriced);
        pool.leave_open(empty);
        pool.apply(wishes)?;
        pool.drop_open(&open);
        pool.name_pieces_of_sets();
        pool.settle()?;
        Ok(pool)
    }

    fn bid(&mut self, row: &'a Part, seats: BTreeSet<usize>) {
        let mut needs = row.needs.clone();
        if row.standing == Standing::Bundled {
            needs.extend(row.comes_with.clone());
        }
        self.bids.push(Bid { row, seats, needs });
    }

    /// A row of the build without a price is no offer, and is taken only where there is no other.
    fn without_price(&mut self, rows: Vec<(&'a Part, BTreeSet<usize>)>) {
        for (row, seats) in rows {
            if seats
                .iter()
                .all(|seat| self.bids.iter().any(|bid| bid.seats.contains(seat)))
            {
                self.left_out
                    .push((row.name.clone(), "it has no price yet".to_owned()));
            } else {
                self.left_out.push((
                    row.name.clone(),
                    "it has no price yet: nothing is counted for it".to_owned(),
                ));
                self.bid(row, seats);
            }
        }
    }

    /// Seats of rows without price and mass: to be filled if anything is offered for them.
    fn open_seats(
        &mut self,
        book: &'a Book,
        jurisdiction: &Jurisdiction<'a>,
        at: &mut BTreeMap<String, Vec<usize>>,
    ) -> Vec<(usize, String)> {
        let mut open = Vec::new();
        for row in book
            .build()
            .filter(|row| row.is_open() && on_the_bike(row, jurisdiction))
        {
            for place in row
                .places
                .iter()
                .filter(|p| jurisdiction.place(p).is_some())
            {
                at.entry(place.clone()).or_default().push(self.seats.len());
                open.push((self.seats.len(), row.name.clone()));
                self.seats.push(Seat {
                    place: place.clone(),
                    required: true,
                });
            }
        }
        open
    }

    /// Where nothing is offered for an open row, it stays open and is named.
    fn drop_open(&mut self, open: &[(usize, String)]) {
        for (seat, part) in open {
            if !self.bids.iter().any(|bid| bid.seats.contains(seat)) {
                self.seats[*seat].required = false;
                let why = "still open: nothing is counted for it".to_owned();
                self.left_out.push((part.clone(), why));
            }
        }
        self.left_out.dedup();
    }

    /// Seats that the build leaves empty and that must be filled, or may be because another part needs it.
    fn empty_seats(
        &mut self,
        book: &'a Book,
        jurisdiction: &Jurisdiction<'a>,
        at: &mut BTreeMap<String, Vec<usize>>,
    ) {
        let build: Vec<&Part> = book.build().collect();
        let bench = Bench::lay(&build, jurisdiction);
        let needed: BTreeSet<&str> = book
            .parts
            .iter()
            .flat_map(|row| row.needs.iter().map(String::as_str))
            .collect();
        let wanted = |row: &&Part| {
            row.role == Role::Option
                && (row.standing == Standing::Bundled || needed.contains(row.name.as_str()))
        };
        let options: BTreeSet<&str> = book
            .parts
            .iter()
            .filter(wanted)
            .flat_map(|row| row.places.iter().map(String::as_str))
            .collect();
        for seat in bench
            .seats()
            .filter(|seat| seat.rows.is_empty() && !seat.place.is_workshop())
        {
            let name = seat.place.place.as_str();
            let required = seat.place.need == Need::Required
                && seat.there == There::Yes
                && seat.instead.is_none();
            if required || options.contains(name) {
                at.entry(name.to_owned())
                    .or_default()
                    .push(self.seats.len());
                self.seats.push(Seat {
                    place: name.to_owned(),
                    required,
                });
            }
        }
    }

    fn alternative(
        &mut self,
        row: &'a Part,
        book: &'a Book,
        jurisdiction: &Jurisdiction<'a>,
        at: &BTreeMap<String, Vec<usize>>,
    ) {
        if row.standing != Standing::Bundled && row.price.is_none() && !is_committed(row) {
            self.left_out
                .push((row.name.clone(), "it has no price yet".to_owned()));
            return;
        }
        let same = (row.role == Role::Rival)
            .then(|| self.bids.iter().find(|bid| bid.row.name == row.name))
            .flatten();
        let seats = match same {
            Some(bid) => bid.seats.clone(),
            None => claimed(&[row], jurisdiction)
                .iter()
                .filter_map(|place| at.get(*place))
                .flatten()
                .copied()
                .collect(),
        };
        let here = |place: &str| {
            book.build()
                .any(|b| !b.is_open() && b.places.iter().any(|p| p == place))
        };
        let massless = row.total_mass().is_none()
            && counts(row, jurisdiction)
            && row.standing != Standing::Bundled
            && row.role == Role::Option;
        if massless && row.places.iter().any(|p| here(p)) {
            self.left_out
                .push((row.name.clone(), "its mass is not known".to_owned()));
            return;
        }
        let build: Vec<&Part> = book.build().filter(|row| !row.is_open()).collect();
        let claimed = claimed(&[row], jurisdiction);
        let shares = |other: &&Part| {
            row.name != other.name
                && other
                    .places
                    .iter()
                    .any(|place| claimed.contains(place.as_str()))
        };
        if let Some(why) = self.masses.unknown(build.iter().copied().filter(shares)) {
            self.left_out.push((row.name.clone(), why));
            return;
        }
        let short = || {
            pieces::short(row, &build, jurisdiction)
                .filter(|_| same.is_none())
                .map(|short| short.words())
        };
        if let Some(why) = pieces::fewer(row, book, jurisdiction).or_else(short) {
            self.left_out.push((row.name.clone(), why));
            return;
        }
        if seats.is_empty() {
            self.left_out.push((
                row.name.clone(),
                "nothing in the build is at its place, and nothing needs it".to_owned(),
            ));
            return;
        }
        self.bid(row, seats);
    }

    /// An option for a piece of a thing that is one row is no choice where nothing is offered for the other pieces: that is
    /// said, with what to do.
    fn name_pieces_of_sets(&mut self) {
        let sets = || {
            self.bids
                .iter()
                .filter(|bid| bid.row.role == Role::Build && bid.seats.len() > 1)
        };
        let mut named = Vec::new();
        for option in self.bids.iter().filter(|bid| bid.row.role == Role::Option) {
            let free = |bid: &&Bid<'_>| bid.seats.is_disjoint(&option.seats);
            let bare = |seat: &usize| {
                !self
                    .bids
                    .iter()
                    .filter(free)
                    .any(|bid| bid.seats.contains(seat))
            };
            let whole = sets().find(|set| {
                !set.seats.is_disjoint(&option.seats)
                    && set.seats.difference(&option.seats).any(bare)
            });
            named.extend(whole.map(|set| (option.row.name.clone(), pieces::split_words(set.row))));
        }
        self.left_out.extend(named);
    }

    fn apply(&mut self, wishes: &Wishes) -> Result<(), Bare> {
        let offered: BTreeSet<&str> = self.bids.iter().map(|bid| bid.row.name.as_str()).collect();
        let banned = |bid: &Bid<'_>| {
            let seller = bid.row.seller.as_deref().unwrap_or_default();
            !is_committed(bid.row)
                && bid.row.standing != Standing::Bundled
                && wishes.without.iter().any(|w| w == seller)
        };
        self.bids.retain(|bid| !banned(bid));
        for part in &wishes.keep {
            if self.settled.iter().any(|row| row.name == *part) {
                continue;
            }
            let kept: BTreeSet<usize> = self
                .bids
                .iter()
                .filter(|b| b.row.name == *part)
                .flat_map(|b| b.seats.iter().copied())
                .collect();
            if kept.is_empty() {
                let said = self
                    .left_out
                    .iter()
                    .find(|(name, _)| name == part)
                    .map(|(_, why)| why.clone());
                let taken =
                    "every seller of it is left out, or another part that is kept takes its place";
                let why = if offered.contains(part.as_str()) {
                    taken
                } else {
                    "it is no offer"
                };
                return Err(Bare::Kept(
                    part.clone(),
                    said.unwrap_or_else(|| why.to_owned()),
                ));
            }
            self.bids
                .retain(|bid| bid.row.name == *part || bid.seats.is_disjoint(&kept));
            for seat in kept {
                self.seats[seat].required = true;
            }
        }
        Ok(())
    }

    /// Takes out what is no choice: a required seat with one offer is settled, an offer that lacks what it needs is gone.
    fn settle(&mut self) -> Result<(), Bare> {
        let mut gone: BTreeSet<usize> = BTreeSet::new();
        loop {
            let names: BTreeSet<&str> = self.bids.iter().map(|b| b.row.name.as_str()).collect();
            let sure: BTreeSet<&str> = self.settled.iter().map(|row| row.name.as_str()).collect();
            let lacks = |bid: &Bid<'_>| {
                bid.needs
                    .iter()
                    .any(|n| !names.contains(n.as_str()) && !sure.contains(n.as_str()))
            };
            if let Some(at) = self.bids.iter().position(lacks) {
                self.bids.remove(at);
                continue;
            }
            let filling = |seat: usize| self.bids.iter().filter(move |b| b.seats.contains(&seat));
            let open = |seat: &usize| self.seats[*seat].required && !gone.contains(seat);
            let bare = (0..self.seats.len())
                .filter(open)
                .filter(|seat| filling(*seat).next().is_none());
            let places: Vec<String> = bare.map(|seat| self.seats[seat].place.clone()).collect();
            if !places.is_empty() {
                return Err(Bare::Places(places));
            }
            let alone = |seat: &usize| {
                let mut all = filling(*seat);
                let one = all.next()?;
                let only =
                    all.next().is_none() && one.needs.iter().all(|n| sure.contains(n.as_str()));
                only.then_some(one.row)
            };
            let Some(row) = (0..self.seats.len())
                .filter(open)
                .find_map(|seat| alone(&seat))
            else {
                break;
            };
            let seats = self
                .bids
                .iter()
                .find(|b| std::ptr::eq(b.row, row))
                .map(|b| b.seats.clone())
                .unwrap_or_default();
            self.bids.retain(|b| b.seats.is_disjoint(&seats));
            gone.extend(seats);
            self.settled.push(row);
        }
        let used: Vec<usize> = (0..self.seats.len())
            .filter(|s| self.bids.iter().any(|b| b.seats.contains(s)))
            .collect();
        let number: BTreeMap<usize, usize> = used
            .iter()
            .enumerate()
            .map(|(new, old)| (*old, new))
            .collect();
        self.seats = used.iter().map(|s| self.seats[*s].clone()).collect();
        for bid in &mut self.bids {
            bid.seats = bid
                .seats
                .iter()
                .filter_map(|s| number.get(s).copied())
                .collect();
        }
        Ok(())
    }
}

/// The parcel a row would travel in.
pub(super) fn parcel_of(row: &Part) -> String {
    row.consignment().unwrap_or_else(|| HOME.to_owned())
}

/// The parcel of what no seller sends.
pub(super) const HOME: &str = "at home";
