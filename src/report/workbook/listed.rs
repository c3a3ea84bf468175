//! The figures of a form that may be changed, as the sheet of inputs lists them.

use crate::landed::Working;
use crate::rules::{Figure, Form, Group, Measure};
use crate::units::{Currency, Dec};

/// What a figure is listed with.
pub(super) struct Listed {
    pub(super) group: Group,
    pub(super) what: String,
    pub(super) value: Dec,
    pub(super) unit: String,
    /// The parcels or goods it is for.
    pub(super) of: Vec<String>,
    pub(super) row: String,
    pub(super) source: String,
}

/// The forms of a parcel.
pub(super) fn forms<'w>(work: &'w Working<'_>) -> impl Iterator<Item = &'w Form> {
    let law = work.law.as_ref().map(|law| &law.told.form);
    [&work.asking.0.form, &work.paying.0.form]
        .into_iter()
        .chain(law)
}

/// A figure with its words, its unit and its source.
pub(super) fn list(
    group: Group,
    form: &Form,
    which: usize,
    figure: &Figure,
    (home, work): (Currency, &Working<'_>),
) -> Listed {
    let (words, how) = figure.words();
    let origin = &figure.origin;
    let of_law = matches!(group, Group::Rate | Group::Law) && !origin.id.is_empty();
    let what = if of_law {
        format!("{}: {words}", origin.id.replace('_', " "))
    } else {
        words
    };
    let unit = match form.measure_of(which) {
        Measure::Home => home.code(),
        Measure::Seller => work.paid_in.code(),
        Measure::Plain => figure.counts(),
    };
    let both: Vec<&str> = [how, origin.source.as_str()]
        .into_iter()
        .filter(|text| !text.is_empty())
        .collect();
    let source = if how == origin.source {
        how.to_owned()
    } else {
        both.join("; ")
    };
    Listed {
        group,
        what,
        value: figure.value,
        unit: unit.to_owned(),
        of: Vec::new(),
        row: origin.place.clone(),
        source,
    }
}

impl Listed {
    /// Adds what a form of a parcel uses it for: the parcel, or some of its goods.
    pub(super) fn add(&mut self, form: &Form, which: usize, work: &Working<'_>) {
        let lines = form.lines_of(which);
        if lines.len() == work.lines.len() {
            return self.name(&work.bill.id);
        }
        for line in lines.iter().filter_map(|line| work.lines.get(*line)) {
            self.name(&line.part.name);
        }
    }

    fn name(&mut self, name: &str) {
        if !self.of.iter().any(|own| own == name) {
            self.of.push(name.to_owned());
        }
    }
}
