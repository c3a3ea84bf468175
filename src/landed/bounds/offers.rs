//! A seller's offers before anything is chosen: the lines, their figures, and the terms of the sale.

use std::collections::BTreeMap;

use super::NoBounds;
use crate::book::Part;
use crate::landed::offered::OfferedParcel;
use crate::landed::price::Reading;
use crate::rules::bounds::{Between, Each, Frame, LawForm, Offered, SellerForms, Value, around};
use crate::rules::{Input, Parcel, SaleInput};
use crate::units::{Dec, Grams, Mode};

/// The lines of one seller's packages.
pub(super) struct Offers<'a> {
    pub(super) parcel: &'a OfferedParcel<'a>,
    /// For each line its slot; none for what comes anyway.
    slots: Vec<Option<usize>>,
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
}

impl<'a> Offers<'a> {
    /// Opens the offers of one seller, each with its slot.
    pub(super) fn open(
        parcel: &'a OfferedParcel<'a>,
        slots: &[usize],
    ) -> Result<Offers<'a>, NoBounds> {
        let digits = parcel.currency.digits();
        let (mut prices, mut list, mut masses) = (Vec::new(), Vec::new(), Vec::new());
        for line in &parcel.lines {
            let own = line.price.times(line.pieces.into())?.amount();
            list.push(
                own.small_units(digits)
                    .ok_or("a price is finer than its money")?,
            );
            prices.push(line.price.amount());
            masses.push(line.packed.0);
        }
        let slot = |at: &Option<usize>| at.and_then(|at| slots.get(at).copied());
        let slots: Vec<Option<usize>> = parcel.offers.iter().map(slot).collect();
        let unit = 10_i128.pow(9_u32.saturating_sub(digits));
        let all = Frame::new(&slots, &list, unit);
        Ok(Offers {
            figures: figures_of(&parcel.consignment.rows, (&prices, &masses), &all)?,
            packed: column(&all, &masses)?.sum,
            parcel,
            slots,
            list,
            masses,
            all,
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
        let rows = self.parcel.consignment.rows.iter().zip(&self.slots);
        rows.filter(|(_, slot)| slot.is_none())
            .map(|(row, _)| *row)
            .collect()
    }

    /// Figures of the lines as those of the offers.
    pub(super) fn by_offer<T: Copy + Default>(&self, of: impl Fn(usize) -> T) -> Vec<T> {
        let mut found = vec![T::default(); self.parcel.offers.iter().flatten().count()];
        for (line, place) in self.parcel.offers.iter().enumerate() {
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

    /// The forms of the seller's side, with prices read in one way.
    pub(super) fn forms(&self, reading: Reading<'_>) -> Result<SellerForms, NoBounds> {
        let payer = self.parcel.payer(matches!(reading, Reading::Net(_)));
        let sale = self.parcel.terms(reading);
        Ok(SellerForms::new((&sale, payer), &self.all, &self.figures)?)
    }

    /// The law of lines that customs sees so.
    pub(super) fn law(&self, parcel: &Parcel) -> Result<Option<LawForm>, NoBounds> {
        let Some(wide) = &self.parcel.wide else {
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
            customs: self.parcel.customs,
            market: self.parcel.market,
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
