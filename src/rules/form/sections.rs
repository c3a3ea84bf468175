//! The law of one parcel for whoever writes it down with open figures: a form cut to what is shown, and row by row in words what its
//! nodes are.

use super::lower::lower_live;
use super::marks::{ChargeMarks, Marks, ReliefMarks, RowOf, StepMarks};
use super::trail::step_of;
use super::{Form, Id, Op, Origin};
use crate::rules::parcel::Parcel;
use crate::rules::program::Program;
use crate::rules::step::Step;
use crate::tables::Kind;
use crate::units::{Dec, Overflow};

/// A form with open figures, and what its nodes are in words.
#[derive(Debug, Clone)]
pub(crate) struct Told {
    /// The form with the nodes that are asked for, and no others.
    pub(crate) form: Form,
    /// How often each node is looked at.
    pub(crate) uses: Vec<u32>,
    /// Row by row, in their order.
    pub(crate) sections: Vec<Section>,
}

impl Told {
    /// Names of nodes that are shown in a section that begins after them.
    pub(crate) fn shown_again(&self) -> impl Iterator<Item = &Name> {
        self.sections.iter().flat_map(Section::before)
    }

    /// Cuts a form to its answers and to what is shown.
    pub(super) fn cut(
        mut form: Form,
        mut sections: Vec<Section>,
        answers: impl IntoIterator<Item = Id>,
    ) -> Told {
        let shown = sections.iter().flat_map(|section| &section.names);
        let shown = shown.filter(|name| name.shown).map(|name| name.id);
        let uses = form.cut(shown.chain(answers).collect::<Vec<_>>());
        let needed = |name: &Name| uses[name.id.place()] > 0;
        for section in &mut sections {
            section.names.retain(needed);
        }
        sections.retain(|section| !section.names.is_empty() || section.nothing);
        Told {
            form,
            uses,
            sections,
        }
    }
}

/// The law of one parcel with its figures open.
#[derive(Debug, Clone)]
pub(crate) struct Law {
    /// The form, row by row.
    pub(crate) told: Told,
    /// What each line bears of a kind, in the destination's money.
    pub(crate) due: Vec<(Kind, Id)>,
    /// Tax at the sale in the seller's money.
    pub(crate) paid: Id,
}

/// One row of the law or of the seller's terms, or what opens and closes them.
#[derive(Debug, Clone, Default)]
pub(crate) struct Section {
    /// The first node that is its own.
    pub(crate) begins: usize,
    /// What it is called; what opens a form has no name.
    pub(crate) title: String,
    /// The row, and what is behind it.
    pub(crate) source: String,
    /// What the row says.
    pub(crate) words: String,
    /// Whether the row comes to nothing whatever the figures, which its words say.
    pub(crate) nothing: bool,
    /// Nodes that have a name here.
    pub(crate) names: Vec<Name>,
}

impl Section {
    /// The names of nodes that stand before it and are shown in it all the same.
    pub(crate) fn before(&self) -> impl Iterator<Item = &Name> {
        let before = |name: &&Name| name.shown && name.id.place() < self.begins;
        self.names.iter().filter(before)
    }
}

/// A node in words.
#[derive(Debug, Clone)]
pub(crate) struct Name {
    /// Which.
    pub(crate) id: Id,
    /// What it is.
    pub(crate) what: String,
    /// What there is to say of it.
    pub(crate) how: &'static str,
    /// Whether it is shown although nothing else needs it.
    pub(crate) shown: bool,
    /// Whether it is an amount as it is due, in whole units of its money.
    pub(crate) due: bool,
}

/// The law of one parcel.
pub(crate) fn law(program: &Program, parcel: &Parcel) -> Result<Law, Overflow> {
    let (form, marks) = lower_live(program, parcel)?;
    let mut sections = vec![opening(program, &marks)];
    let mut told = Vec::new();
    for (step, begins) in marks.steps.iter().zip(&marks.begins) {
        let section = match step {
            StepMarks::Charge(charge) => charge_section((program, parcel), &form, charge),
            StepMarks::Relief(relief) => relief_section(program, relief),
            StepMarks::NotDue(_) => None,
        };
        told.extend(section.map(|section| Section {
            begins: *begins,
            ..section
        }));
    }
    sections.append(&mut told);
    name_what_is_left(&mut sections, &marks);
    let kinds = [
        Kind::Duty,
        Kind::Remedy,
        Kind::Tax,
        Kind::SaleTax,
        Kind::Fee,
    ];
    let due: Vec<(Kind, Id)> = kinds
        .into_iter()
        .filter_map(|kind| Some((kind, *marks.due.get(kind.name())?)))
        .collect();
    sections.push(closing(&marks, &due));
    let answers = due.iter().map(|(_, id)| *id).chain([marks.paid]);
    Ok(Law {
        told: Told::cut(form, sections, answers.collect::<Vec<_>>()),
        due,
        paid: marks.paid,
    })
}

pub(super) fn name(id: Id, what: &str, how: &'static str) -> Name {
    Name {
        id,
        what: what.to_owned(),
        how,
        shown: false,
        due: false,
    }
}

pub(super) fn shown(id: Id, what: &str, how: &'static str) -> Name {
    Name {
        shown: true,
        ..name(id, what, how)
    }
}

pub(super) fn due(id: Id, what: &str, how: &'static str) -> Name {
    Name {
        due: true,
        ..shown(id, what, how)
    }
}

/// The parts of the price.
fn opening(program: &Program, marks: &Marks) -> Section {
    const PARTS: [&str; 6] = [
        "list",
        "goods",
        "freight",
        "freight.border",
        "freight.inland",
        "insurance",
    ];
    let home = PARTS.iter().zip(&marks.columns);
    let home = home.map(|(what, id)| name(*id, what, "at the customs rate, exact"));
    let sellers = PARTS.iter().zip(&marks.sellers);
    let sellers = sellers.map(|(what, id)| name(*id, what, "in the seller's money"));
    let schedules = program.names.schedules();
    let schedules = schedules.filter_map(|(schedule, slot)| {
        let what = format!("freight:{schedule}");
        Some(name(*marks.columns.get(slot)?, &what, "shared by mass"))
    });
    Section {
        names: home.chain(sellers).chain(schedules).collect(),
        ..Section::default()
    }
}

fn closing(marks: &Marks, all: &[(Kind, Id)]) -> Section {
    let words = |kind: &Kind| match kind {
        Kind::Duty => "duty",
        Kind::Remedy => "anti-dumping",
        Kind::Tax => "tax at the border",
        Kind::SaleTax => "tax at the sale",
        Kind::Fee => "carrier's fee",
        Kind::Value => "value",
    };
    let mut names: Vec<Name> = all
        .iter()
        .map(|(kind, id)| due(*id, words(kind), "all rows of its kind"))
        .collect();
    let in_sellers = "in the seller's money";
    names.push(due(marks.paid, "tax at the sale, as paid", in_sellers));
    Section {
        // a program without rows has nothing but the close
        begins: marks.begins.last().copied().unwrap_or(0),
        title: "What is due in all".to_owned(),
        names,
        ..Section::default()
    }
}

fn when(words: &str, condition: &str) -> String {
    if condition.is_empty() {
        words.to_owned()
    } else {
        format!("{words}; when {condition}")
    }
}

/// The place of a row and what is behind it.
fn source(origin: &Origin) -> String {
    if origin.source.is_empty() {
        origin.place.clone()
    } else {
        format!("{}: {}", origin.place, origin.source)
    }
}

fn charge_section(
    (program, parcel): (&Program, &Parcel),
    form: &Form,
    charge: &ChargeMarks,
) -> Option<Section> {
    let step = step_of(program, parcel, charge.row)?;
    let title = step.id.replace('_', " ");
    let source = source(&Origin::of(&step.stamp, &step.id));
    if form.node(charge.bears).op == Op::Fixed(Dec::ZERO) {
        return Some(Section {
            title,
            source,
            words: "nothing: there is no rate for any of these parts".to_owned(),
            nothing: true,
            ..Section::default()
        });
    }
    Some(Section {
        title,
        source,
        words: when(&step.of_text, &step.when),
        names: names_of_charge(charge),
        ..Section::default()
    })
}

/// The names of what a charge is made of, in the order in which it is calculated.
fn names_of_charge(charge: &ChargeMarks) -> Vec<Name> {
    let (own, base, exact) = match charge.row {
        RowOf::Step(_) => (false, "taken of", "exact"),
        _ => (true, "advanced", "comes to, before it is shared"),
    };
    let mut names = vec![
        shown(
            charge.works_on,
            "works on",
            "1 where its condition holds and no limit drops it",
        ),
        name(
            charge.bears,
            if own { "is taken here" } else { "bears it" },
            if own {
                "once for the parcel"
            } else {
                "1 where there is a rate for it"
            },
        ),
        name(
            charge.rate,
            "its rate",
            "counted from one in the order in which the tables are looked at",
        ),
        shown(charge.terms.0, base, ""),
        name(charge.terms.1, exact, "percent of it, by mass and by piece"),
    ];
    for part in &charge.parts {
        let together = "lines of one item and one rate have one number";
        names.extend(part.keys.map(|keys| name(keys, "taken together", together)));
        names.push(name(
            part.amount,
            "amount",
            "of all that are taken together",
        ));
    }
    let by = "what each line comes to, else what it is taken of, else its value";
    names.extend(charge.weights.map(|weights| name(weights, "shared by", by)));
    names.push(name(charge.items, "items", "that it is counted by"));
    names.push(due(charge.entered.total, "comes to", ""));
    names.push(due(charge.entered.shares, "shares", ""));
    names.push(name(charge.shares, "shares", "in the destination's money"));
    names.push(name(
        charge.counts,
        "counts",
        "1 where anything is left of it",
    ));
    names
}

/// What a row or a limit leaves of a charge before it stands among that row's figures.
fn name_what_is_left(sections: &mut [Section], marks: &Marks) {
    let how = "zero where another of its group counts or a limit drops it";
    for charge in marks.steps.iter().filter_map(StepMarks::charge) {
        let what = format!("what is left of {}", charge.id.replace('_', " "));
        let mut before = sections.iter_mut().rev();
        if let Some(section) = before.find(|one| one.begins <= charge.shares.place()) {
            section.names.push(name(charge.shares, &what, how));
        }
    }
}

fn relief_section(program: &Program, relief: &ReliefMarks) -> Option<Section> {
    let Some(Step::Relief(step)) = program.steps.get(relief.step) else {
        return None;
    };
    let words = format!("{} {} {}", step.tests_text, step.op, step.limit_text);
    Some(Section {
        title: format!("limit: {}", step.id.replace('_', " ")),
        source: source(&Origin::of(&step.stamp, &step.id)),
        words: when(&words, &step.when),
        names: vec![
            name(relief.picked, "looks at", "1 where its condition holds"),
            name(relief.each, "tests", ""),
            name(relief.whole, "together", ""),
            shown(relief.held, "holds", "1 where the sum keeps to the limit"),
            name(
                relief.collect,
                "where tax is taken",
                "0 at the border, 1 at the sale, 2 nowhere",
            ),
        ],
        ..Section::default()
    })
}
