//! The law of one jurisdiction: its folder's tables, read and laid over its group's.

use std::collections::BTreeSet;

use super::after::settle_after;
use super::charge::Charge;
use super::code::{Assembly, Code};
use super::refund::RefundRow;
use super::relief::Relief;
use super::stamp::{Dated, File, Rule, idle_switches, overlay, rows_of};
use super::sum::Factor;
use super::tariff::{TariffRow, TaxRow};
use super::when::{ParcelFact, Subject, When};
use crate::text::{Diagnostic, Problems, words};

/// The tables of one folder.
#[derive(Debug, Clone, Default)]
pub struct Law {
    /// The rows of the sum.
    pub(crate) charges: Vec<Dated<Charge>>,
    /// The limits.
    pub(crate) reliefs: Vec<Dated<Relief>>,
    /// Rates of duty.
    pub(crate) tariff: Vec<Dated<TariffRow>>,
    /// Rates of tax.
    pub(crate) taxes: Vec<Dated<TaxRow>>,
    /// What a place's part is.
    pub(crate) codes: Vec<Dated<Code>>,
    /// What parts are together.
    pub(crate) assemblies: Vec<Dated<Assembly>>,
    /// What comes back when goods go back.
    pub(crate) refunds: Vec<Dated<RefundRow>>,
    /// Parts of rows that a user's row replaced, as `rates` shows them.
    pub(crate) replaced: Replaced,
}

/// What a user's rows replaced.
#[derive(Debug, Clone, Default)]
pub(crate) struct Replaced {
    /// Rows of the sum.
    pub(crate) charges: Vec<Dated<Charge>>,
    /// Limits.
    pub(crate) reliefs: Vec<Dated<Relief>>,
    /// Rates of duty.
    pub(crate) tariff: Vec<Dated<TariffRow>>,
    /// Rates of tax.
    pub(crate) taxes: Vec<Dated<TaxRow>>,
    /// Digits.
    pub(crate) codes: Vec<Dated<Code>>,
    /// Assemblies.
    pub(crate) assemblies: Vec<Dated<Assembly>>,
}

impl Law {
    /// Reads one folder (`gb`) of one set of files.
    pub(super) fn read(folder: &str, files: &[&File], problems: &mut Problems) -> Law {
        Law {
            charges: table(folder, "charges", files, problems),
            reliefs: table(folder, "reliefs", files, problems),
            tariff: table(folder, "tariff", files, problems),
            taxes: table(folder, "taxes", files, problems),
            codes: table(folder, "codes", files, problems),
            assemblies: table(folder, "assemblies", files, problems),
            refunds: table(folder, "refunds", files, problems),
            replaced: Replaced::default(),
        }
    }

    /// Its tables of goods alone: rates of duty, digits, assemblies.
    pub(super) fn of_goods(self) -> Law {
        Law {
            tariff: self.tariff,
            codes: self.codes,
            assemblies: self.assemblies,
            ..Law::default()
        }
    }

    /// Rows laid over this law that switch nothing off.
    pub(super) fn check_switches(&self, over: &Law, problems: &mut Problems) {
        idle_switches(&self.charges, &over.charges, problems);
        idle_switches(&self.reliefs, &over.reliefs, problems);
        idle_switches(&self.tariff, &over.tariff, problems);
        idle_switches(&self.taxes, &over.taxes, problems);
        idle_switches(&self.codes, &over.codes, problems);
        idle_switches(&self.assemblies, &over.assemblies, problems);
    }

    /// Rows of the user's that name places which are on no bike.
    pub(super) fn check_places(&self, places: &[&str], problems: &mut Problems) {
        let codes = self.codes.iter().map(|row| (&row.stamp, row.rule.places()));
        let together = self
            .assemblies
            .iter()
            .map(|row| (&row.stamp, row.rule.places().cloned().collect::<Vec<_>>()));
        for (stamp, named) in codes.chain(together).filter(|(stamp, _)| stamp.users) {
            for place in named
                .iter()
                .filter(|place| !places.contains(&place.as_str()))
            {
                let unknown = Diagnostic::warning(format!(
                    "there is no place {}: the row is never used",
                    words::quoted(place)
                ));
                let unknown = unknown.at(stamp.row.place());
                problems.push(match words::nearest(place, places.iter().copied()) {
                    Some(near) => unknown.help(format!("did you mean `{near}`?")),
                    None => unknown,
                });
            }
        }
    }

    /// The names of the choices its rows ask for.
    pub(crate) fn choices(&self) -> BTreeSet<&str> {
        let conditions = self.whens().flat_map(When::conditions);
        conditions
            .filter_map(|c| match &c.subject {
                Subject::Choice(name) => Some(name.as_str()),
                _ => None,
            })
            .collect()
    }

    /// The words that its rows ask a choice for.
    pub(crate) fn choice_words(&self, choice: &str) -> BTreeSet<&str> {
        let conditions = self.whens().flat_map(When::conditions);
        let of =
            conditions.filter(|c| matches!(&c.subject, Subject::Choice(name) if name == choice));
        of.map(|c| c.word.as_str()).collect()
    }

    /// The facts of a line its rows ask for.
    pub(crate) fn traits(&self) -> BTreeSet<&str> {
        let conditions = self.whens().flat_map(When::conditions);
        let asked = conditions.filter_map(|c| {
            if let Subject::Trait(name) = &c.subject {
                Some(name.as_str())
            } else {
                None
            }
        });
        let terms = self
            .charges
            .iter()
            .filter_map(|row| row.rule.of.as_ref())
            .flat_map(|sum| &sum.terms);
        let factors = terms.filter_map(|term| {
            if let Factor::Trait(name) = &term.factor {
                Some(name.as_str())
            } else {
                None
            }
        });
        asked.chain(factors).collect()
    }

    /// The regions its rows know.
    pub(crate) fn regions(&self, country: &str) -> BTreeSet<&str> {
        let taxed = self
            .taxes
            .iter()
            .filter(|row| row.rule.country == country)
            .map(|row| row.rule.region.as_str());
        let asked = self
            .whens()
            .flat_map(When::conditions)
            .filter(|c| c.subject == Subject::Parcel(ParcelFact::Region));
        taxed
            .chain(asked.map(|c| c.word.as_str()))
            .filter(|region| !region.is_empty())
            .collect()
    }

    fn whens(&self) -> impl Iterator<Item = &When> {
        let charges = self.charges.iter().map(|row| &row.rule.when);
        let reliefs = self.reliefs.iter().map(|row| &row.rule.when);
        let tariff = self.tariff.iter().map(|row| &row.rule.when);
        charges
            .chain(reliefs)
            .chain(tariff)
            .chain(self.codes.iter().map(|row| &row.rule.when))
    }

    /// Lays another law's rows over this one's.
    #[must_use]
    pub(super) fn under(self, over: Law) -> Law {
        let (charges, gone_charges) = overlay(self.charges, over.charges);
        let (reliefs, gone_reliefs) = overlay(self.reliefs, over.reliefs);
        let (tariff, gone_tariff) = overlay(self.tariff, over.tariff);
        let (taxes, gone_taxes) = overlay(self.taxes, over.taxes);
        let (codes, gone_codes) = overlay(self.codes, over.codes);
        let (assemblies, gone_assemblies) = overlay(self.assemblies, over.assemblies);
        let refunds = overlay(self.refunds, over.refunds).0;
        let replaced = Replaced {
            charges: [self.replaced.charges, gone_charges].concat(),
            reliefs: [self.replaced.reliefs, gone_reliefs].concat(),
            tariff: [self.replaced.tariff, gone_tariff].concat(),
            taxes: [self.replaced.taxes, gone_taxes].concat(),
            codes: [self.replaced.codes, gone_codes].concat(),
            assemblies: [self.replaced.assemblies, gone_assemblies].concat(),
        };
        Law {
            charges,
            reliefs,
            tariff,
            taxes,
            codes,
            assemblies,
            refunds,
            replaced,
        }
    }

    /// Whether it says anything.
    pub(crate) fn is_empty(&self) -> bool {
        self.charges.is_empty() && self.reliefs.is_empty()
    }

    /// Tells the rows that another follows from those whose end is all that is known.
    pub(super) fn settle_ends(&mut self) {
        settle_after(
            &mut self.charges,
            |charge| charge.id.clone(),
            |charge| &mut charge.after,
        );
        let goods = |row: &TariffRow| [row.layer.as_str(), &row.commodity, &row.origin].join(" ");
        settle_after(&mut self.tariff, goods, |row| &mut row.after);
        settle_after(&mut self.taxes, Rule::key, |row| &mut row.after);
    }
}

fn table<R: Rule>(
    folder: &str,
    name: &str,
    files: &[&File],
    problems: &mut Problems,
) -> Vec<Dated<R>> {
    let wanted = format!("{folder}/{name}.csv");
    let own = files.iter().copied().filter(|file| file.name == wanted);
    rows_of(own, problems)
}
