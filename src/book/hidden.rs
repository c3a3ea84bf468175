//! A book without the names of its sellers: letters stand for them, for the labels of their parcels, for codes and for schedules.

use std::collections::{BTreeMap, BTreeSet};

use super::{Book, Freight, unknown};
use crate::text::words;

impl Book {
    /// The names of freight schedules, with what stands for them.
    fn lettered_schedules(&self) -> BTreeMap<String, String> {
        let of_sellers = self.sellers.values().map(|seller| &seller.freight);
        let freights = of_sellers.chain(self.parcels.iter().map(|row| &row.freight));
        let names = freights.filter_map(|freight| match freight {
            Freight::Schedule(name) => Some(name),
            _ => None,
        });
        lettered("Schedule", names)
    }

    /// The names of sellers, with what stands for them.
    fn lettered_sellers(&self) -> BTreeMap<String, String> {
        let of_parts = self.parts.iter().filter_map(|part| part.seller.as_ref());
        lettered("seller", self.sellers.keys().chain(of_parts))
    }

    /// Takes the sellers' names out: `seller A`, `seller B`, in the order of their names, wherever they stand; likewise the labels
    /// of their parcels, their codes, and the names of freight schedules, which are returned with what stands for them.
    pub(crate) fn hide_sellers(&mut self) -> BTreeMap<String, String> {
        let labels = lettered(
            "parcel",
            self.parts
                .iter()
                .map(|part| &part.parcel)
                .chain(self.parcels.iter().map(|row| &row.parcel)),
        );
        let label = |name: &str| labels.get(name).cloned().unwrap_or_else(|| name.to_owned());
        let codes = lettered("code", self.discounts.iter().map(|row| &row.code));
        let groups = lettered("codes", self.discounts.iter().map(|row| &row.group));
        let letter = |known: &BTreeMap<String, String>, name: &str| {
            known.get(name).cloned().unwrap_or_default()
        };
        let schedules = self.lettered_schedules();
        let hidden = self.lettered_sellers();
        let other = |name: &str| {
            hidden
                .get(name)
                .cloned()
                .unwrap_or_else(|| "a seller".to_owned())
        };
        self.sellers = std::mem::take(&mut self.sellers)
            .into_values()
            .map(|mut seller| {
                seller.name = other(&seller.name);
                hide_schedule(&mut seller.freight, &schedules);
                (seller.name.clone(), seller)
            })
            .collect();
        for part in &mut self.parts {
            (part.seller, part.parcel) = (part.seller.as_deref().map(other), label(&part.parcel));
        }
        for row in &mut self.parcels {
            (row.seller, row.parcel) = (other(&row.seller), label(&row.parcel));
            hide_schedule(&mut row.freight, &schedules);
        }
        for row in &mut self.discounts {
            (row.seller, row.code, row.group) = (
                other(&row.seller),
                letter(&codes, &row.code),
                letter(&groups, &row.group),
            );
        }
        self.bikes
            .iter_mut()
            .for_each(|bike| bike.seller = bike.seller.as_deref().map(other));
        let parcel = |id: &str| match id.split_once('/') {
            Some((seller, own)) if !hidden.contains_key(id) => {
                format!("{}/{}", other(seller), label(own))
            }
            _ => other(id),
        };
        self.receipts
            .iter_mut()
            .for_each(|row| row.consignment = parcel(&row.consignment));
        for row in self
            .unknowns
            .iter_mut()
            .flatten()
            .filter(|row| !row.name.is_empty())
        {
            row.name = unknown::renamed(row, &hidden, &parcel);
        }
        schedules
    }
}

/// Names with a letter for each, in their order; an empty one stays as it is.
fn lettered<'a>(what: &str, names: impl Iterator<Item = &'a String>) -> BTreeMap<String, String> {
    let names: BTreeSet<&String> = names.filter(|name| !name.is_empty()).collect();
    names
        .into_iter()
        .enumerate()
        .map(|(at, name)| (name.clone(), format!("{what} {}", words::letters(at))))
        .collect()
}

fn hide_schedule(freight: &mut Freight, schedules: &BTreeMap<String, String>) {
    if let Freight::Schedule(name) = freight {
        *name = schedules.get(name).cloned().unwrap_or_default();
    }
}
