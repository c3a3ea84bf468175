//! What packages of a seller's offers land at, in whole numbers: the terms, the law and the payment of all offers are written out
//! once, and a package is a choice of lines. Whatever hangs on more of a parcel than that (digits that nobody told, a preference
//! that is claimed, receipts) is left to the decimals of a bill, and so is every package whose figures do not fit: none is
//! answered then, never another sum.

use std::cell::RefCell;

use super::freight;
use super::offered::OfferedParcel;
use super::parcel::Consignment;
use super::price::{Reading, sellers_price, volume};
use crate::book::{Freight, Part};
use crate::rules::{
    AskedInWhole, Asks, LineCharges, OfferLine, Package, PackageLine, Pays, Scratch, WholeRate,
    all_at_sale, any_held,
};
use crate::tables::FreightStep;
use crate::units::Dec;

/// The law of packages that go abroad.
struct Abroad {
    /// Of single parts, then once for each thing that some of them may make.
    laws: Vec<Package>,
    customs: WholeRate,
    /// The seller's side where the destination's tax is taken out of the prices.
    net: Option<Asks>,
}

/// A seller's offers, ready to be priced together.
pub(crate) struct Packages<'a> {
    parcel: OfferedParcel<'a>,
    lines: Vec<OfferLine>,
    volumes: Vec<Dec>,
    steps: Vec<&'a FreightStep>,
    asks: Asks,
    abroad: Option<Abroad>,
    /// Without and with a tax that prices held.
    pays: [Pays; 2],
    market: WholeRate,
    scratch: RefCell<Scratch>,
}

/// What a package costs: what the seller asks for each line, what the line bears, and all that is due at the door.
type Worked = (Vec<AskedInWhole>, Vec<LineCharges>, Dec);

impl<'a> Packages<'a> {
    /// Makes a seller's offers ready; none where their packages must be priced as bills.
    pub(crate) fn open(parcel: OfferedParcel<'a>) -> Option<Packages<'a>> {
        let rows = &parcel.consignment.rows;
        if rows
            .iter()
            .any(|row| row.preference && row.origin.is_some())
        {
            return None;
        }
        let lines = (0..rows.len()).map(|at| offer_line(&parcel, at));
        let volumes = rows.iter().map(|row| volume(&[row]).ok());
        let pays = |held| Pays::build(rows.len(), parcel.payer(held));
        Some(Packages {
            lines: lines.collect::<Option<_>>()?,
            volumes: volumes.collect::<Option<_>>()?,
            steps: parcel.steps().unwrap_or_default(),
            asks: Asks::build(&parcel.terms(Reading::Typed))?,
            abroad: match &parcel.wide {
                Some(_) => Some(abroad(&parcel)?),
                None => None,
            },
            pays: [pays(false)?, pays(true)?],
            market: WholeRate::new(parcel.market)?,
            scratch: RefCell::default(),
            parcel,
        })
    }

    /// What a package of these offers lands at, with what comes anyway; none where its bill must be asked.
    pub(crate) fn landed(&self, chosen: &[usize]) -> Option<Dec> {
        let here = |at: &usize| self.parcel.offers[*at].is_none_or(|own| chosen.contains(&own));
        let which: Vec<usize> = (0..self.lines.len()).filter(here).collect();
        let carriage = self.carriage(&which)?;
        let scratch = &mut *self.scratch.borrow_mut();
        let (asked, charges, due) = match &self.abroad {
            None => {
                let asked = self.asks.ask(&which, &self.lines, carriage, scratch)?;
                (asked, vec![LineCharges::default(); which.len()], Dec::ZERO)
            }
            Some(abroad) => self.abroad(abroad, &which, carriage, scratch)?,
        };
        let pays = &self.pays[usize::from(any_held(&asked))];
        let paid = pays.pay(&which, &asked, &charges, self.market, scratch)?;
        let digits = self.parcel.jurisdiction.currency().digits();
        let paid = Dec::from_units(paid.into(), digits).ok()?;
        paid.plus(due).ok()
    }

    /// What the seller asks and what the lines bear abroad: net of the destination's tax where all lines are then taxed at the
    /// sale, else as typed.
    fn abroad(
        &self,
        abroad: &Abroad,
        which: &[usize],
        carriage: i64,
        scratch: &mut Scratch,
    ) -> Option<Worked> {
        let net = match &abroad.net {
            Some(net) => Some(self.borne(abroad, net, (which, carriage), scratch)?),
            None => None,
        };
        match net.filter(|(_, charges, _)| all_at_sale(charges)) {
            Some(net) => Some(net),
            None => self.borne(abroad, &self.asks, (which, carriage), scratch),
        }
    }

    fn borne(
        &self,
        abroad: &Abroad,
        asks: &Asks,
        (which, carriage): (&[usize], i64),
        scratch: &mut Scratch,
    ) -> Option<Worked> {
        let asked = asks.ask(which, &self.lines, carriage, scratch)?;
        let lines = asked
            .iter()
            .zip(which)
            .map(|(own, at)| own.line(&self.lines[*at]));
        let lines = lines.collect::<Option<Vec<PackageLine>>>()?;
        let law = self.law(abroad, which)?;
        let borne = law.bear(which, &lines, abroad.customs, scratch)?;
        let ddp = self.parcel.consignment.pays_duty();
        let due = if ddp { Dec::ZERO } else { borne.due };
        Some((asked, borne.lines, due))
    }

    /// The law of a package: of single parts, or of the thing that they are together; none where it holds more or fewer pieces than
    /// those that the law was written out for.
    fn law<'l>(&self, abroad: &'l Abroad, which: &[usize]) -> Option<&'l Package> {
        let things = &self.parcel.wide.as_ref()?.things;
        let pieces = |place: &str| self.pieces(place, which);
        let made = things
            .iter()
            .enumerate()
            .map(|(at, thing)| (at, thing, thing.row.wholes(pieces)))
            .find(|(_, _, wholes)| *wholes > 0);
        let Some((at, thing, wholes)) = made else {
            return abroad.laws.first();
        };
        let all_belong = || {
            thing
                .taken
                .iter()
                .all(|(place, most)| pieces(place) <= *most)
        };
        let as_written = wholes == thing.wholes && all_belong();
        as_written.then(|| abroad.laws.get(at + 1)).flatten()
    }

    /// What carrying costs, in minor units of the seller's money, where it does not travel free.
    fn carriage(&self, which: &[usize]) -> Option<i64> {
        let digits = self.parcel.currency.digits();
        let price = match &self.parcel.consignment.freight {
            Freight::Unknown => Dec::ZERO,
            Freight::Amount(amount) => *amount,
            Freight::Schedule(_) => {
                let first = self.steps.first()?;
                let mass =
                    Dec::total(which.iter().map(|at| self.parcel.lines[*at].packed.0)).ok()?;
                let volume = Dec::total(which.iter().map(|at| self.volumes[*at])).ok()?;
                let charged = freight::charged_mass(&self.steps, mass, volume).ok()?;
                let price = freight::price(&self.steps, charged).ok()??;
                let at = (self.parcel.currency, self.parcel.consignment.ordered);
                let price = sellers_price(price, first.currency, at, self.parcel.jurisdiction);
                price.ok()?.amount()
            }
        };
        price.small_units(digits)
    }

    /// How many pieces of a package lie at a place, in the boxes of its lines too.
    fn pieces(&self, name: &str, which: &[usize]) -> u32 {
        let own = &self.parcel.consignment;
        let rows = which.iter().flat_map(|at| in_the_box(own.rows[*at], own));
        rows.filter(|row| row.places.iter().any(|place| place == name))
            .fold(0, |sum, row| sum.saturating_add(row.quantity))
    }
}

fn offer_line(parcel: &OfferedParcel<'_>, at: usize) -> Option<OfferLine> {
    let (row, line) = (parcel.consignment.rows.get(at)?, parcel.lines.get(at)?);
    let pieces = i64::from(line.pieces);
    let bare = match row.mass {
        Some(mass) => mass.0.small_units(1)?.checked_mul(pieces)?,
        None => 0,
    };
    Some(OfferLine {
        price: line.price.amount().small_units(parcel.currency.digits())?,
        pieces,
        packed: line.packed.0.small_units(1)?,
        bare,
    })
}

/// The law of all lines; none where what a line bears hangs on more than which of them a package holds.
fn abroad(parcel: &OfferedParcel<'_>) -> Option<Abroad> {
    let wide = parcel.wide.as_ref().filter(|wide| !wide.open_digits)?;
    let program = &wide.prepared.program;
    if program.schedules().next().is_some() {
        return None;
    }
    let (plain, _) = wide.parcels.first()?;
    let laws = wide
        .parcels
        .iter()
        .map(|(own, _)| Package::open(program, own));
    let net = if parcel.holds_sale_tax() {
        let percents = program.sale_tax_rates(plain).ok()?;
        Some(Asks::build(&parcel.terms(Reading::Net(&percents)))?)
    } else {
        None
    };
    Some(Abroad {
        laws: laws.collect::<Option<_>>()?,
        customs: WholeRate::new(parcel.customs)?,
        net,
    })
}

/// A row and what lies in its box.
fn in_the_box<'c>(
    row: &'c Part,
    consignment: &'c Consignment<'_>,
) -> impl Iterator<Item = &'c Part> {
    let inside = consignment.bundled.iter().copied();
    let inside = inside.filter(|one| one.comes_with.as_deref() == Some(row.name.as_str()));
    inside.chain([row])
}
