//! A seller's offers before anything is chosen: the lines, their figures, and the terms of the sale.

use std::collections::BTreeMap;

use super::NoBounds;
use crate::book::{Book, Discount, Included, Part, Remedies};
use crate::landed::border::{Scenario, Wide, all_lines};
use crate::landed::discount::holding;
use crate::landed::jurisdiction::Jurisdiction;
use crate::landed::parcel::Consignment;
use crate::landed::payment::card_fee;
use crate::landed::price::{Priced, Reading, packed_masses, terms};
use crate::rules::bounds::{Between, Each, Frame, LawForm, Offered, SellerForms, Value, around};
use crate::rules::{AskedLine, Given, Input, Parcel, Payer, RowFilter, SaleInput};
use crate::units::{Currency, Dec, Grams, Mode, Rate, SellerMoney};

/// The lines of one seller's packages.
pub(super) struct Offers<'a> {
    pub(super) jurisdiction: &'a Jurisdiction<'a>,
    pub(super) consignment: Consignment<'a>,
    pub(super) currency: Currency,
    /// For each line its slot; none for what comes anyway.
    slots: Vec<Option<usize>>,
    /// For each line its offer.
    places: Vec<Option<usize>>,
    /// All packages.
    pub(super) all: Frame,
    /// The figures of the lines that are the same in every case.
    figures: Vec<(Input, Value)>,
    /// What all lines that are there weigh, packed.
    pub(super) packed: Between,
    /// Price times quantity in minor units.
    list: Vec<i64>,
    /// Packed grams.
    masses: Vec<Dec>,
    discounts: Vec<&'a Discount>,
    /// The law's view of all lines; none where they cross no border.
    pub(super) wide: Option<Wide>,
    customs: Rate,
    market: Rate,
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

impl<'a> Offers<'a> {
    /// Opens the offers of one seller, each with its slot.
    pub(super) fn open(
        book: &'a Book,
        consignment: Consignment<'a>,
        (offers, slots): (&[&Part], &[usize]),
        jurisdiction: &'a Jurisdiction<'a>,
    ) -> Result<Offers<'a>, NoBounds> {
        let rows = &consignment.rows;
        let currency = rows.first().and_then(|row| row.currency);
        let currency = currency.unwrap_or(jurisdiction.currency());
        let of_offer = |row: &&Part| offers.iter().position(|offer| std::ptr::eq(*offer, *row));
        let places: Vec<Option<usize>> = rows.iter().map(of_offer).collect();
        let slot = |at: &Option<usize>| at.and_then(|at| slots.get(at).copied());
        let (masses, guessed) = packed_masses(&consignment, jurisdiction)?;
        let (mut prices, mut list, mut lines) = (Vec::new(), Vec::new(), Vec::new());
        for (row, packed) in rows.iter().zip(&masses) {
            let price = jurisdiction.what_if.price_of(row, currency.digits())?;
            let own = price.amount().times(Dec::from(row.quantity))?;
            let small = own.small_units(currency.digits());
            list.push(small.ok_or("a price is finer than its money")?);
            prices.push(price.amount());
            lines.push(AskedLine {
                list: SellerMoney::of(own),
                packed: *packed,
                ..AskedLine::default()
            });
        }
        let wide = lines_at_border(&consignment, (currency, lines, guessed), jurisdiction)?;
        let (arrival, ordered) = (consignment.arrival, consignment.ordered);
        let slots: Vec<Option<usize>> = places.iter().map(slot).collect();
        let unit = 10_i128.pow(9_u32.saturating_sub(currency.digits()));
        let all = Frame::new(&slots, &list, unit);
        let masses: Vec<Dec> = masses.into_iter().map(|mass| mass.0).collect();
        Ok(Offers {
            figures: figures_of(rows, (&prices, &masses), &all)?,
            packed: column(&all, &masses)?.sum,
            slots,
            places,
            list,
            masses,
            all,
            discounts: holding(book, &consignment),
            wide,
            customs: jurisdiction.customs_rate(currency, arrival)?.quote.rate,
            market: jurisdiction.market_rate(currency, ordered)?.rate,
            jurisdiction,
            consignment,
            currency,
        })
    }

    /// The least and the most goods of packages of one offer or more, in minor units.
    pub(super) fn goods_ends(&self) -> (i64, i64) {
        let mut most: BTreeMap<usize, i64> = BTreeMap::new();
        let mut least = i64::MAX;
        for (list, slot) in self.list.iter().zip(&self.slots) {
            if let Some(slot) = slot {
                let own = most.entry(*slot).or_insert(0);
                *own = (*own).max(*list);
                least = least.min(*list);
            }
        }
        (least, most.values().sum())
    }

    /// The packed mass of what comes anyway, and of the heaviest package.
    pub(super) fn mass_ends(&self) -> Result<(Dec, Dec), NoBounds> {
        let mut most: BTreeMap<usize, Dec> = BTreeMap::new();
        let mut sure = Dec::ZERO;
        for (mass, slot) in self.masses.iter().zip(&self.slots) {
            match slot {
                Some(slot) => {
                    let own = most.entry(*slot).or_insert(Dec::ZERO);
                    *own = (*own).max(*mass);
                }
                None => sure = sure.plus(*mass)?,
            }
        }
        Ok((sure, Dec::total(most.into_values().chain([sure]))?))
    }

    /// The rows that come anyway.
    pub(super) fn sure_rows(&self) -> Vec<&'a Part> {
        let rows = self.consignment.rows.iter().zip(&self.slots);
        rows.filter(|(_, slot)| slot.is_none())
            .map(|(row, _)| *row)
            .collect()
    }

    /// Figures of the lines as those of the offers.
    pub(super) fn by_offer<T: Copy + Default>(&self, of: impl Fn(usize) -> T) -> Vec<T> {
        let mut found = vec![T::default(); self.places.iter().flatten().count()];
        for (line, place) in self.places.iter().enumerate() {
            if let Some(own) = place.and_then(|at| found.get_mut(at)) {
                *own = of(line);
            }
        }
        found
    }

    /// What each offer adds to the goods.
    pub(super) fn goods(&self) -> Vec<i64> {
        self.by_offer(|line| self.list[line])
    }

    /// What each offer adds to the weight, in tenths of grams, cut.
    pub(super) fn weights(&self) -> Result<Vec<i64>, NoBounds> {
        let tenths = |mass: &Dec| mass.round_to(1, Mode::Floor).small_units(1);
        let all = self.masses.iter().map(tenths).collect::<Option<Vec<_>>>();
        let all = all.ok_or("a mass is too large")?;
        Ok(self.by_offer(|line| all[line]))
    }

    /// Whether prices hold a tax that is taken at the sale.
    pub(super) fn holds_sale_tax(&self) -> bool {
        self.consignment.tax_to_take_out(self.jurisdiction) == Included::SaleTax
    }

    /// The forms of the seller's side, with prices read in one way.
    pub(super) fn forms(&self, reading: Reading<'_>) -> Result<SellerForms, NoBounds> {
        let digits = self.currency.digits();
        let carriage = Given::Supplied(SaleInput::Carriage);
        let reads = (reading, self.jurisdiction);
        let sale = terms(&self.consignment, &self.discounts, carriage, reads, digits);
        let payer = Payer {
            paid_digits: digits,
            digits: self.jurisdiction.currency().digits(),
            card: card_fee(self.currency, self.jurisdiction),
            gift: false,
            held: matches!(reading, Reading::Net(_)),
        };
        Ok(SellerForms::new((&sale, payer), &self.all, &self.figures)?)
    }

    /// The law of lines that customs sees so.
    pub(super) fn law(&self, parcel: &Parcel) -> Result<Option<LawForm>, NoBounds> {
        let Some(wide) = &self.wide else {
            return Ok(None);
        };
        let program = &wide.prepared.program;
        Ok(LawForm::new((program, parcel), &self.all, &self.figures)?)
    }

    /// What is known of the lines, and what carrying them costs.
    pub(super) fn offered(&self, carriage: &Between) -> Offered {
        let mut figures = self.figures.clone();
        let carriage = (Input::Sale(SaleInput::Carriage), carriage.clone().into());
        figures.push(carriage);
        Offered {
            figures,
            customs: self.customs,
            market: self.market,
        }
    }
}

/// Figures of the lines.
fn column(frame: &Frame, figures: &[Dec]) -> Result<Each, NoBounds> {
    let ends = figures.iter().map(|own| around(*own));
    let (least, most) = ends.collect::<Result<Vec<_>, _>>()?.into_iter().unzip();
    Ok(frame.lines_of(least, most)?)
}

/// What is known of each line, whatever the package.
fn figures_of(
    rows: &[&Part],
    (prices, masses): (&[Dec], &[Dec]),
    frame: &Frame,
) -> Result<Vec<(Input, Value)>, NoBounds> {
    let (mut pieces, mut grams, mut kilograms) = (Vec::new(), Vec::new(), Vec::new());
    for (row, packed) in rows.iter().zip(masses) {
        let mass = row.mass.map_or(Dec::ZERO, |mass| mass.0);
        pieces.push(Dec::from(row.quantity));
        grams.push(mass.times(Dec::from(row.quantity))?);
        kilograms.push(Grams(*packed).kilograms()?);
    }
    let all = [
        (Input::Sale(SaleInput::Price), prices),
        (Input::Sale(SaleInput::Packed), masses),
        (Input::Pieces, &pieces),
        (Input::Grams, &grams),
        (Input::Kilograms, &kilograms),
    ];
    let known = all
        .into_iter()
        .map(|(input, own)| Ok((input, column(frame, own)?.into())));
    known.collect()
}

/// All lines put before the rules; none where they cross no border.
fn lines_at_border(
    consignment: &Consignment<'_>,
    (currency, lines, guessed): (Currency, Vec<AskedLine>, Vec<&str>),
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Wide>, NoBounds> {
    if jurisdiction.is_home(consignment.dispatch.code()) {
        return Ok(None);
    }
    let priced = Priced {
        currency,
        lines,
        typed: SellerMoney::ZERO,
        used: Vec::new(),
        packed: Grams::ZERO,
        guessed,
        freight_unknown: false,
    };
    let wide = all_lines(consignment, &priced, jurisdiction, &supposed(jurisdiction))?;
    let wide = wide.ok_or("parts of one thing are not alike in how many there are")?;
    Ok(Some(wide))
}
