//! What packages of a seller's offers land at, in whole numbers: the terms, the law and the payment of all offers are written out
//! once, and a package is a choice of lines. Whatever hangs on more of a parcel than that (digits that nobody told, a preference
//! that is claimed, receipts) is left to the decimals of a bill, and so is every package whose figures do not fit: none is
//! answered then, never another sum.

use std::cell::RefCell;

use super::border::{Scenario, all_lines, assemblies_of};
use super::discount;
use super::freight;
use super::jurisdiction::Jurisdiction;
use super::parcel::{Consignment, ConsignmentState, group, is_reckoned};
use super::payment::card_fee;
use super::price::{Priced, Reading, packed_masses, sellers_price, terms};
use crate::book::{Book, Discount, Freight, Included, Part, Remedies};
use crate::rules::{
    AskedInWhole, AskedLine, Asks, Desk, Given, Laws, OfferLine, Payer, Pays, RowFilter, SaleInput,
    WholeRate, all_at_sale, any_held,
};
use crate::tables::{Assembly, FreightStep};
use crate::text::Problems;
use crate::units::{Currency, Dec, Grams, SellerMoney};

/// The law of packages that go abroad.
struct Abroad<'a> {
    /// Of single parts, then once for each thing that some of them may make.
    laws: Vec<Laws>,
    assemblies: Vec<&'a Assembly>,
    customs: WholeRate,
    /// The seller's side where the destination's tax is taken out of the prices.
    net: Option<Asks>,
    ddp: bool,
}

/// A seller's offers, ready to be priced together.
pub(crate) struct Packages<'a> {
    jurisdiction: &'a Jurisdiction<'a>,
    consignment: Consignment<'a>,
    currency: Currency,
    /// For each line its offer; none for what comes anyway.
    offers: Vec<Option<usize>>,
    lines: Vec<OfferLine>,
    masses: Vec<Dec>,
    volumes: Vec<Dec>,
    /// The places that each line fills with what lies in its box.
    places: Vec<Vec<&'a str>>,
    steps: Vec<&'a FreightStep>,
    asks: Asks,
    abroad: Option<Abroad<'a>>,
    /// Without and with a tax that prices held.
    pays: [Pays; 2],
    market: WholeRate,
    desk: RefCell<Desk>,
}

impl<'a> Packages<'a> {
    /// Offers of one seller beside rows that come anyway; none where their packages must be priced as bills.
    pub(crate) fn open(
        book: &'a Book,
        sure: &[&'a Part],
        offers: &[&'a Part],
        jurisdiction: &'a Jurisdiction<'a>,
    ) -> Option<Packages<'a>> {
        let consignment = consignment(book, sure, offers, jurisdiction)?;
        let first = consignment.rows.first()?;
        let currency = first.currency.unwrap_or(jurisdiction.currency());
        let digits = currency.digits();
        let (masses, _) = packed_masses(&consignment, jurisdiction).ok()?;
        let lines = (consignment.rows.iter().zip(&masses))
            .map(|(row, packed)| offer_line(row, *packed, jurisdiction, digits))
            .collect::<Option<Vec<OfferLine>>>()?;
        let of_offer = |row: &&Part| offers.iter().position(|offer| std::ptr::eq(*offer, *row));
        let codes = discount::holding(book, &consignment);
        let payer = |held| Payer {
            paid_digits: digits,
            digits: jurisdiction.currency().digits(),
            card: card_fee(currency, jurisdiction),
            gift: false,
            held,
        };
        let asks = asks(&consignment, &codes, Reading::Typed, jurisdiction)?;
        let abroad = if jurisdiction.is_home(consignment.dispatch.code()) {
            None
        } else {
            Some(abroad(
                &consignment,
                &lines,
                &masses,
                currency,
                jurisdiction,
                &codes,
            )?)
        };
        let market = jurisdiction
            .market_rate(currency, consignment.ordered)
            .ok()?
            .rate;
        Some(Packages {
            offers: consignment.rows.iter().map(of_offer).collect(),
            volumes: consignment
                .rows
                .iter()
                .map(|row| volume(row))
                .collect::<Option<_>>()?,
            places: consignment
                .rows
                .iter()
                .map(|row| places(row, &consignment))
                .collect(),
            steps: steps(&consignment, jurisdiction),
            masses: masses.into_iter().map(|mass| mass.0).collect(),
            pays: [
                Pays::build(lines.len(), payer(false))?,
                Pays::build(lines.len(), payer(true))?,
            ],
            market: WholeRate::new(market)?,
            desk: RefCell::default(),
            jurisdiction,
            currency,
            lines,
            asks,
            abroad,
            consignment,
        })
    }

    /// What a package of these offers lands at, with what comes anyway; none where its bill must be asked.
    pub(crate) fn landed(&self, chosen: &[usize]) -> Option<Dec> {
        let here = |offer: &Option<usize>| offer.is_none_or(|offer| chosen.contains(&offer));
        let which: Vec<usize> = (0..self.lines.len())
            .filter(|at| here(&self.offers[*at]))
            .collect();
        let carriage = self.carriage(&which)?;
        let desk = &mut *self.desk.borrow_mut();
        match &self.abroad {
            None => {
                let asked = self.asks.ask(&which, &self.lines, carriage, desk)?;
                let nothing = vec![crate::rules::LineCharges::default(); which.len()];
                self.money(self.pays[0].pay(&which, &asked, &nothing, self.market, desk)?)
            }
            Some(abroad) => self.landed_abroad(abroad, &which, carriage, desk),
        }
    }

    fn landed_abroad(
        &self,
        abroad: &Abroad<'_>,
        which: &[usize],
        carriage: i64,
        desk: &mut Desk,
    ) -> Option<Dec> {
        let makes = |one: &&Assembly| self.makes(one, which);
        let law = match abroad.assemblies.iter().position(makes) {
            Some(thing) => abroad.laws.get(thing + 1)?,
            None => abroad.laws.first()?,
        };
        let bear = |asked: &[AskedInWhole], desk: &mut Desk| {
            law.assess((which, &self.lines), asked, abroad.customs, desk)
        };
        let net = match &abroad.net {
            Some(net) => {
                let asked = net.ask(which, &self.lines, carriage, desk)?;
                let charges = bear(&asked, desk)?;
                all_at_sale(&charges.lines).then_some((asked, charges))
            }
            None => None,
        };
        let (asked, charges) = match net {
            Some(net) => net,
            None => {
                let asked = self.asks.ask(which, &self.lines, carriage, desk)?;
                let charges = bear(&asked, desk)?;
                (asked, charges)
            }
        };
        let pays = &self.pays[usize::from(any_held(&asked))];
        let paid = pays.pay(which, &asked, &charges.lines, self.market, desk)?;
        let due = if abroad.ddp { Dec::ZERO } else { charges.due };
        self.money(paid)?.plus(due).ok()
    }

    fn money(&self, minor: i64) -> Option<Dec> {
        Dec::from_units(minor.into(), self.jurisdiction.currency().digits()).ok()
    }

    /// What carrying costs, in minor units of the seller's money, where it does not travel free.
    fn carriage(&self, which: &[usize]) -> Option<i64> {
        let digits = self.currency.digits();
        let price = match &self.consignment.freight {
            Freight::Unknown => Dec::ZERO,
            Freight::Amount(amount) => *amount,
            Freight::Schedule(_) => {
                let first = self.steps.first()?;
                let mass = Dec::total(which.iter().map(|at| self.masses[*at])).ok()?;
                let volume = Dec::total(which.iter().map(|at| self.volumes[*at])).ok()?;
                let charged = freight::charged_mass(&self.steps, mass, volume).ok()?;
                let price = freight::price(&self.steps, charged).ok()??;
                let at = (self.currency, self.consignment.ordered);
                let price = sellers_price(price, first.currency, at, self.jurisdiction);
                price.ok()?.amount()
            }
        };
        price.small_units(digits)
    }

    /// Whether the parts of a package together are another thing.
    fn makes(&self, assembly: &Assembly, which: &[usize]) -> bool {
        let here = |name: &String| {
            which
                .iter()
                .any(|at| self.places[*at].contains(&name.as_str()))
        };
        assembly.needs.iter().all(here)
            && assembly
                .of
                .iter()
                .filter(|one| one.iter().any(here))
                .count()
                >= assembly.any
    }
}

/// The one parcel of all rows, ordered on one day, without receipts.
fn consignment<'a>(
    book: &'a Book,
    sure: &[&'a Part],
    offers: &[&'a Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Option<Consignment<'a>> {
    let rows: Vec<&Part> = sure.iter().chain(offers).copied().collect();
    let claims = |row: &&Part| row.preference && row.origin.is_some();
    if !rows.iter().all(|row| is_reckoned(row)) || rows.iter().any(claims) {
        return None;
    }
    let mut problems = Problems::new();
    let mut found = group(book, &rows, jurisdiction, &mut problems);
    let consignment = found
        .pop()
        .filter(|_| found.is_empty() && !problems.refuse())?;
    let told = book
        .receipts
        .iter()
        .any(|receipt| receipt.consignment == consignment.id);
    let plain = consignment.kind == ConsignmentState::ToOrder
        && jurisdiction.what_if.freight.is_empty()
        && !told;
    plain.then_some(consignment)
}

fn offer_line(
    row: &Part,
    packed: Grams,
    jurisdiction: &Jurisdiction<'_>,
    digits: u32,
) -> Option<OfferLine> {
    let price = jurisdiction.what_if.price_of(row, digits).ok()?;
    let pieces = i64::from(row.quantity);
    let bare = match row.mass {
        Some(mass) => mass.0.small_units(1)?.checked_mul(pieces)?,
        None => 0,
    };
    Some(OfferLine {
        price: price.amount().small_units(digits)?,
        pieces,
        packed: packed.0.small_units(1)?,
        bare,
    })
}

fn abroad<'a>(
    consignment: &Consignment<'_>,
    lines: &[OfferLine],
    masses: &[Grams],
    currency: Currency,
    jurisdiction: &'a Jurisdiction<'a>,
    codes: &[&Discount],
) -> Option<Abroad<'a>> {
    let scenario = Scenario {
        counting: RowFilter {
            disputed: !jurisdiction.what_if.undisputed,
            remedies: jurisdiction.what_if.remedies || jurisdiction.ask.remedies == Remedies::Count,
        },
        origin: None,
        claim: Vec::new(),
        told: None,
        assembled: true,
        heading: None,
    };
    let priced = Priced {
        currency,
        lines: masses
            .iter()
            .map(|packed| AskedLine {
                packed: *packed,
                ..AskedLine::default()
            })
            .collect(),
        typed: SellerMoney::ZERO,
        used: Vec::new(),
        packed: Grams::ZERO,
        guessed: Vec::new(),
        freight_unknown: false,
    };
    let wide = all_lines(consignment, &priced, jurisdiction, &scenario).ok()??;
    let program = &wide.prepared.program;
    let told = wide.parcels.iter().all(|(_, own)| own.is_none());
    if !told || program.schedules().next().is_some() {
        return None;
    }
    let (plain, _) = wide.parcels.first()?;
    let found = assemblies_of(plain, consignment, jurisdiction, scenario.counting);
    let laws = wide
        .parcels
        .iter()
        .map(|(parcel, _)| Laws::build(program, parcel));
    let customs = jurisdiction
        .customs_rate(currency, consignment.arrival)
        .ok()?
        .quote
        .rate;
    let net = if consignment.tax_to_take_out(jurisdiction) == Included::SaleTax {
        let percents = program.sale_tax_rates(plain).ok()?;
        Some(asks(
            consignment,
            codes,
            Reading::Net(&percents),
            jurisdiction,
        )?)
    } else {
        None
    };
    debug_assert_eq!(plain.lines.len(), lines.len());
    Some(Abroad {
        laws: laws.collect::<Option<_>>()?,
        assemblies: found.into_iter().map(|one| &one.rule).collect(),
        customs: WholeRate::new(customs)?,
        net,
        ddp: consignment.pays_duty(),
    })
}

/// The terms of all lines; what carrying costs is told for each package.
fn asks(
    consignment: &Consignment<'_>,
    codes: &[&Discount],
    reading: Reading<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Option<Asks> {
    let first = consignment.rows.first()?;
    let digits = first.currency.unwrap_or(jurisdiction.currency()).digits();
    let carriage = Given::Supplied(SaleInput::Carriage);
    Asks::build(&terms(
        consignment,
        codes,
        carriage,
        (reading, jurisdiction),
        digits,
    ))
}

fn steps<'a>(
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

/// Cubic centimetres of a row's boxes.
fn volume(row: &Part) -> Option<Dec> {
    let Some([a, b, c]) = row.box_cm else {
        return Some(Dec::ZERO);
    };
    a.times(b)
        .ok()?
        .times(c)
        .ok()?
        .times(Dec::from(row.quantity))
        .ok()
}

/// The places of a row and of what lies in its box.
fn places<'a>(row: &'a Part, consignment: &Consignment<'a>) -> Vec<&'a str> {
    let inside = consignment.bundled.iter().copied();
    let inside = inside.filter(|one| one.comes_with.as_deref() == Some(row.name.as_str()));
    let all = inside.chain([row]).flat_map(|row| row.places.iter());
    all.map(String::as_str).collect()
}
