//! The live reading: the law of one parcel as formulas. It knows operations and no rule; what a figure is called it is told.

use std::collections::{BTreeMap, BTreeSet};

use super::Common;
use super::formula::{At, BoolExpr, NumExpr};
use super::prices::Prices;
use super::sheets::{Cell, Look, Page, Shared as Share, TOGETHER};
use crate::landed::Working;
use crate::rules::{Algebra, Id, Input, Law, Measure, Name, Op as Node, Shared, evaluate};
use crate::tables::{Kind, Op};
use crate::units::{Dec, Mode, Overflow, Rounding};

/// What the law comes to, line by line.
pub(super) struct Due {
    kinds: Vec<(Kind, Vec<NumExpr>)>,
    /// Tax at the sale, in the seller's money.
    pub(super) paid: Vec<NumExpr>,
}

impl Due {
    /// What a line bears of a kind.
    pub(super) fn of(&self, kind: Kind, line: u16) -> NumExpr {
        let mut kinds = self.kinds.iter();
        let own = kinds.find(|(own, _)| *own == kind);
        own.and_then(|(_, lines)| lines.get(usize::from(line)).cloned())
            .unwrap_or(NumExpr::N(Dec::ZERO))
    }
}

/// Writes the law of a parcel; one that crosses no border has none.
pub(super) fn law(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &Prices,
) -> Result<Due, Overflow> {
    let Some(law) = &work.law else {
        return Ok(Due {
            kinds: Vec::new(),
            paid: Vec::new(),
        });
    };
    page.head(&format!(
        "What is due at the border, in {}",
        common.currency
    ));
    let lines = law.form.lines();
    let mut live = Live {
        page,
        law,
        work,
        common,
        rows,
        next: 0,
        stands: standing(law),
        again: shown_again(law),
        told: BTreeMap::new(),
        figures: BTreeMap::new(),
        ranges: Vec::new(),
        shared: None,
    };
    let cells = evaluate(&law.form, &mut live)?;
    live.reach(usize::MAX)?;
    let of = |id: Id| (0..lines).map(|line| cells.at(id, line).clone()).collect();
    Ok(Due {
        kinds: law.due.iter().map(|(kind, id)| (*kind, of(*id))).collect(),
        paid: of(law.paid),
    })
}

/// Nodes that stand in cells of their own: what is added up, shared or counted, and what a formula names several times.
fn standing(law: &Law) -> Vec<bool> {
    let mut stands = vec![false; law.form.nodes().len()];
    for node in law.form.nodes() {
        let named = match &node.op {
            Node::Total(_) | Node::Mates(..) | Node::Distinct(_) | Node::Spread(_) => {
                node.op.looks_at()
            }
            Node::Round(a, rounding)
                if matches!(rounding.mode, Mode::HalfEven | Mode::HalfDown) =>
            {
                vec![*a]
            }
            Node::Over(_, b) => vec![*b],
            _ => Vec::new(),
        };
        for id in named {
            stands[id.place()] = true;
        }
    }
    stands
}

/// Nodes that are shown in a section that begins after them.
fn shown_again(law: &Law) -> BTreeSet<Id> {
    let names = law.sections.iter().flat_map(|section| {
        let before = |name: &&Name| name.shown && name.id.place() < section.begins;
        section.names.iter().filter(before)
    });
    names.map(|name| name.id).collect()
}

struct Live<'a, 'p> {
    page: &'a mut Page<'p>,
    law: &'a Law,
    work: &'a Working<'a>,
    common: &'a Common,
    rows: &'a Prices,
    /// The next section.
    next: usize,
    stands: Vec<bool>,
    /// Nodes that are shown again in a later section.
    again: BTreeSet<Id>,
    /// Their figures.
    told: BTreeMap<Id, Vec<NumExpr>>,
    /// The cells of figures that may be changed.
    figures: BTreeMap<usize, At>,
    /// Rows that were written only so that they can be added up.
    ranges: Vec<(Vec<NumExpr>, u32)>,
    /// The node that was shared last: its row stands already.
    shared: Option<Id>,
}

/// Formulas of more letters than this get a cell of their own, so that none grows with the law.
const LONG: usize = 220;
/// Shorter ones are repeated.
const SHORT: usize = 60;

impl Live<'_, '_> {
    /// Writes the headings of sections that begin at a node or before it, and what is shown there and stands before.
    fn reach(&mut self, place: usize) -> Result<(), Overflow> {
        let law = self.law;
        while let Some(section) = law
            .sections
            .get(self.next)
            .filter(|one| one.begins <= place)
        {
            self.next += 1;
            if !section.title.is_empty() {
                let words = [&section.title, &section.source, &section.words];
                self.page.name(words[0], words[1], words[2], Look::Head);
                self.page.row += 1;
            }
            let before = |name: &&Name| name.shown && name.id.place() < section.begins;
            for name in section.names.iter().filter(before) {
                if let Some(mut figures) = self.told.get(&name.id).cloned() {
                    self.show(name, &mut figures)?;
                }
            }
        }
        Ok(())
    }

    /// What a node is called here, and whether it is shown in any case.
    fn label(&self, at: Id) -> (String, String, bool) {
        let section = self
            .next
            .checked_sub(1)
            .and_then(|at| self.law.sections.get(at));
        let mut names = section.into_iter().flat_map(|section| &section.names);
        if let Some(name) = names.find(|name| name.id == at) {
            return (format!("  {}", name.what), name.how.to_owned(), name.shown);
        }
        let form = &self.law.form;
        let what = match &form.node(at).op {
            Node::Input(Input::Kilograms) => "packed mass, kg",
            Node::Input(Input::Grams) => "mass without packing, g",
            Node::Home(_) => "at the customs rate",
            Node::Plus(..) => "sum",
            Node::Minus(..) => "difference",
            Node::Times(..) | Node::Part(..) => "product",
            Node::Over(..) => "quotient",
            Node::Least(..) => "the lesser",
            Node::Most(..) => "the greater",
            Node::Round(..) => "rounded",
            Node::Compare(_, Op::Unequal, b) if form.node(*b).op == Node::Fixed(Dec::ZERO) => {
                "1 where it is other than nought"
            }
            Node::Compare(..) => "1 where the comparison holds",
            Node::Both(..) => "1 where both hold",
            Node::Either(..) => "1 where either holds",
            Node::Not(_) => "1 where it does not hold",
            Node::Choose(..) => "what holds of the two",
            Node::Total(_) => "all lines together",
            Node::Mates(..) => "all lines of one number together",
            Node::Distinct(_) => "how many different numbers",
            Node::Spread(_) | Node::Settle(_) => "shares",
            Node::Fixed(_) | Node::Figure(_) | Node::Column(_) | Node::Input(_) => "fixed",
        };
        let how = match &form.node(at).op {
            Node::Round(_, rounding) => rounding.to_string(),
            _ => String::new(),
        };
        (format!("  {what}"), how, false)
    }

    fn digits(&self, id: Id) -> Option<u32> {
        match self.law.form.node(id).measure {
            Measure::Plain => None,
            Measure::Seller => Some(self.work.paid_in.digits()),
            Measure::Home => Some(self.common.currency.digits()),
        }
    }

    /// Shows a node that has a name, unless there is nothing to see in it.
    fn show(&mut self, name: &Name, figures: &mut [NumExpr]) -> Result<(), Overflow> {
        let fixed = figures.iter().all(|one| matches!(one, NumExpr::N(_)));
        let nothing =
            fixed && (!name.due || figures.iter().all(|one| *one == NumExpr::N(Dec::ZERO)));
        let look = match self.digits(name.id).filter(|_| name.due) {
            Some(digits) => Look::Money(digits),
            None => Look::Step,
        };
        if nothing {
            return Ok(());
        }
        self.write(
            (&format!("  {}", name.what), name.how),
            (look, self.digits(name.id).is_some()),
            figures,
        )
    }

    /// Writes figures down and puts the cells in their place: a row of one for each line, or one for the parcel.
    fn write(
        &mut self,
        (what, how): (&str, &str),
        (look, sums): (Look, bool),
        figures: &mut [NumExpr],
    ) -> Result<(), Overflow> {
        let row = self.page.row;
        // what is one formula for all lines stands in one cell
        let one = alike(figures) && figures.len() > 1;
        let by_line = figures.len() == usize::from(self.page.lines) && !one;
        let (figures, same) = figures.split_at_mut(if one { 1 } else { figures.len() });
        let label = if look == Look::Step {
            look
        } else {
            Look::Plain
        };
        self.page.name(what, "", how, label);
        for (line, figure) in (0..).zip(figures.iter_mut()) {
            let at = if by_line {
                self.page.of(row, line)
            } else {
                self.page.at(row, TOGETHER)
            };
            match std::mem::replace(figure, NumExpr::R(at)) {
                NumExpr::N(number) => self.page.sheets.figure(at, number, look),
                formula => self.page.sheets.formula(at, formula, look)?,
            }
        }
        if by_line && sums {
            let sum = NumExpr::Total(self.page.all(row));
            let at = self.page.at(row, TOGETHER);
            self.page.sheets.formula(at, sum, look)?;
        }
        if let Some(first) = figures.first() {
            same.fill(first.clone());
        }
        self.page.row += 1;
        Ok(())
    }

    /// The row in which figures stand one beside the other.
    fn standing_in(&self, figures: &[NumExpr]) -> Option<u32> {
        let Some(NumExpr::R(first)) = figures.first() else {
            return None;
        };
        let own =
            |(line, figure): (u16, &NumExpr)| *figure == NumExpr::R(self.page.of(first.row, line));
        (0..).zip(figures).all(own).then_some(first.row)
    }

    /// A row in which figures stand one beside the other, written where there is none.
    fn range(&mut self, at: Id, figures: &[NumExpr]) -> Result<u32, Overflow> {
        if let Some(row) = self.standing_in(figures) {
            return Ok(row);
        }
        if let Some((_, row)) = self.ranges.iter().find(|(known, _)| known == figures) {
            return Ok(*row);
        }
        self.reach(at.place())?;
        let row = self.page.row;
        self.page.name("  for each part", "", "", Look::Step);
        for (line, figure) in (0..).zip(figures) {
            let cell = self.page.of(row, line);
            match figure {
                NumExpr::N(number) => self.page.sheets.figure(cell, *number, Look::Step),
                formula => self
                    .page
                    .sheets
                    .formula(cell, formula.clone(), Look::Step)?,
            }
        }
        self.page.row += 1;
        self.ranges.push((figures.to_vec(), row));
        Ok(row)
    }

    /// The sum of a row, once beside it, so that no line adds up all of them for itself.
    fn beside(&mut self, row: u32) -> Result<At, Overflow> {
        let beside = self.page.at(row, TOGETHER);
        if self.page.sheets.get(beside).is_none() {
            let sum = NumExpr::Total(self.page.all(row));
            self.page.sheets.formula(beside, sum, Look::Step)?;
        }
        Ok(beside)
    }

    /// The row of what one piece weighs without packing, written when the first line asks for it.
    fn unit_masses(&mut self, line: u16) -> u32 {
        if line > 0 {
            return self.page.row - 1;
        }
        let unit = self.work.lines.iter().map(|line| Cell::Number(line.unit.0));
        let words = ["  mass of one piece, g", "", "without packing"];
        self.page.fixed(words, (Look::Step, Look::Input), unit)
    }

    /// Whether an amount is always a whole number of units of so many decimals.
    fn in_units(&self, id: Id, digits: u32) -> bool {
        let whole = |number: Dec| number.decimals() <= digits;
        match &self.law.form.node(id).op {
            Node::Fixed(number) => whole(*number),
            Node::Column(all) => all.iter().all(|number| whole(*number)),
            Node::Round(_, rounding) => whole(rounding.step),
            Node::Choose(_, a, b)
            | Node::Plus(a, b)
            | Node::Minus(a, b)
            | Node::Least(a, b)
            | Node::Most(a, b) => self.in_units(*a, digits) && self.in_units(*b, digits),
            Node::Total(a) | Node::Mates(_, a) => self.in_units(*a, digits),
            _ => false,
        }
    }
}

/// The number of a figure that does not move.
fn fixed(figure: &NumExpr) -> Option<Dec> {
    match figure {
        NumExpr::N(number) => Some(*number),
        _ => None,
    }
}

/// Whether all lines have one figure.
fn alike(figures: &[NumExpr]) -> bool {
    figures.iter().all(|one| *one == figures[0])
}

/// A figure where a key is other than zero, else zero.
fn where_any(key: &NumExpr, figure: NumExpr) -> NumExpr {
    match key {
        NumExpr::N(key) if key.is_zero() => NumExpr::N(Dec::ZERO),
        NumExpr::N(_) => figure,
        key => {
            let some = BoolExpr::Cmp(key.clone(), Op::Unequal, NumExpr::N(Dec::ZERO));
            NumExpr::If(
                Box::new(some),
                Box::new(figure),
                Box::new(NumExpr::N(Dec::ZERO)),
            )
        }
    }
}

/// The numbers of figures none of which moves.
fn all_fixed(figures: &[NumExpr]) -> Option<Vec<Dec>> {
    figures.iter().map(fixed).collect()
}

/// Whether keys are fixed and no two lines have the same.
fn apart(keys: &[Dec]) -> bool {
    let own: BTreeSet<&Dec> = keys.iter().collect();
    own.len() == keys.len()
}

/// A figure as a truth.
fn truth(figure: &NumExpr) -> BoolExpr {
    match figure {
        NumExpr::N(number) if number.is_zero() => BoolExpr::Any(Vec::new()),
        NumExpr::N(_) => BoolExpr::All(Vec::new()),
        NumExpr::If(when, one, other)
            if **one == NumExpr::N(Dec::ONE) && **other == NumExpr::N(Dec::ZERO) =>
        {
            when.as_ref().clone()
        }
        NumExpr::R(at) => BoolExpr::Is(*at),
        other => BoolExpr::Cmp(other.clone(), Op::Unequal, NumExpr::N(Dec::ZERO)),
    }
}

fn sure(holds: bool) -> NumExpr {
    NumExpr::N(if holds { Dec::ONE } else { Dec::ZERO })
}

/// Terms of a sum that begins with a figure.
fn terms(figure: &NumExpr) -> Vec<(bool, NumExpr)> {
    match figure {
        NumExpr::Add(terms) => terms.clone(),
        other => vec![(false, other.clone())],
    }
}

impl Algebra for Live<'_, '_> {
    type Number = NumExpr;
    type Fault = Overflow;

    fn fixed(&mut self, _: Id, value: Dec) -> Result<NumExpr, Overflow> {
        Ok(NumExpr::N(value))
    }

    fn figure(&mut self, at: Id, which: usize, value: Dec) -> Result<NumExpr, Overflow> {
        let figure = self.law.form.figure(which);
        if let Some(cell) = self.common.rates.cell(figure) {
            return Ok(NumExpr::R(cell));
        }
        if let Some(cell) = self.figures.get(&which) {
            return Ok(NumExpr::R(*cell));
        }
        self.reach(at.place())?;
        let (what, how) = figure.what.words();
        let cell = self
            .page
            .figure(&format!("  {what}"), &figure.origin.place, how, value);
        self.figures.insert(which, cell);
        Ok(NumExpr::R(cell))
    }

    fn input(&mut self, at: Id, input: Input, line: usize) -> Result<NumExpr, Overflow> {
        self.reach(at.place())?;
        let line = u16::try_from(line).map_err(|_| Overflow)?;
        let first = self.page.of(0, line);
        let of = |row: u32| NumExpr::R(At { row, ..first });
        Ok(match input {
            Input::List => of(self.rows.list),
            Input::Goods => of(self.rows.goods),
            Input::Freight => of(self.rows.freight),
            Input::Insurance => of(self.rows.insurance),
            Input::Pieces => of(self.rows.quantity),
            Input::Kilograms => NumExpr::Div(
                Box::new(of(self.rows.packed)),
                Box::new(NumExpr::N(Dec::THOUSAND)),
            ),
            Input::Grams => NumExpr::Mul(vec![of(self.rows.quantity), of(self.unit_masses(line))]),
            Input::Sale(_) => return Err(Overflow),
        })
    }

    fn home(&mut self, _: Id, a: &NumExpr) -> Result<NumExpr, Overflow> {
        Ok(match &self.work.customs {
            Some(quote) => self.common.convert(quote, self.work.paid_in, a.clone()),
            None => a.clone(),
        })
    }

    fn plus(&mut self, _: (Id, Id, Id), a: &NumExpr, b: &NumExpr) -> Result<NumExpr, Overflow> {
        Ok(match (fixed(a), fixed(b)) {
            (Some(a), Some(b)) => NumExpr::N(a.plus(b)?),
            (Some(a), None) if a.is_zero() => b.clone(),
            (None, Some(b)) if b.is_zero() => a.clone(),
            _ => NumExpr::Add(terms(a).into_iter().chain(terms(b)).collect()),
        })
    }

    fn minus(&mut self, _: (Id, Id, Id), a: &NumExpr, b: &NumExpr) -> Result<NumExpr, Overflow> {
        Ok(match (fixed(a), fixed(b)) {
            (Some(a), Some(b)) => NumExpr::N(a.minus(b)?),
            (None, Some(b)) if b.is_zero() => a.clone(),
            _ => NumExpr::Add(terms(a).into_iter().chain([(true, b.clone())]).collect()),
        })
    }

    fn times(&mut self, _: Id, a: &NumExpr, b: &NumExpr) -> Result<NumExpr, Overflow> {
        Ok(match (fixed(a), fixed(b)) {
            (Some(a), Some(b)) => NumExpr::N(a.times(b)?),
            (Some(one), None) | (None, Some(one)) if one.is_zero() => NumExpr::N(Dec::ZERO),
            (Some(one), None) if one == Dec::ONE => b.clone(),
            (None, Some(one)) if one == Dec::ONE => a.clone(),
            _ => NumExpr::Mul(vec![a.clone(), b.clone()]),
        })
    }

    fn part(&mut self, _: Id, a: &NumExpr, times: Dec, over: Dec) -> Result<NumExpr, Overflow> {
        if let Some(a) = fixed(a) {
            return Ok(NumExpr::N(a.times(times)?.over(over)?));
        }
        let product = if times == Dec::ONE {
            a.clone()
        } else {
            NumExpr::Mul(vec![a.clone(), NumExpr::N(times)])
        };
        Ok(if over == Dec::ONE {
            product
        } else {
            NumExpr::Div(Box::new(product), Box::new(NumExpr::N(over)))
        })
    }

    fn over(&mut self, _: Id, a: &NumExpr, b: &NumExpr) -> Result<NumExpr, Overflow> {
        Ok(NumExpr::Div(Box::new(a.clone()), Box::new(b.clone())))
    }

    fn least(&mut self, _: (Id, Id, Id), a: &NumExpr, b: &NumExpr) -> Result<NumExpr, Overflow> {
        Ok(match (fixed(a), fixed(b)) {
            (Some(a), Some(b)) => NumExpr::N(a.min(b)),
            _ => NumExpr::Min(vec![a.clone(), b.clone()]),
        })
    }

    fn most(&mut self, _: (Id, Id, Id), a: &NumExpr, b: &NumExpr) -> Result<NumExpr, Overflow> {
        Ok(match (fixed(a), fixed(b)) {
            (Some(a), Some(b)) => NumExpr::N(a.max(b)),
            _ => NumExpr::Max(vec![a.clone(), b.clone()]),
        })
    }

    fn round(&mut self, _: (Id, Id), a: &NumExpr, rounding: Rounding) -> Result<NumExpr, Overflow> {
        Ok(match fixed(a) {
            Some(a) => NumExpr::N(rounding.apply(a)?),
            None => NumExpr::Round(Box::new(a.clone()), rounding),
        })
    }

    fn compare(
        &mut self,
        (at, _, _): (Id, Id, Id),
        a: &NumExpr,
        op: Op,
        b: &NumExpr,
    ) -> Result<NumExpr, Overflow> {
        Ok(match (fixed(a), fixed(b)) {
            (Some(a), Some(b)) => sure(op.holds(&a, &b)),
            (None, Some(b)) => match a {
                NumExpr::If(when, one, other) => match (fixed(one), fixed(other)) {
                    (Some(one), Some(other)) => {
                        let holds = |figure| sure(op.holds(&figure, &b));
                        self.choose(
                            (at, at, at),
                            &NumExpr::one_if((**when).clone()),
                            &holds(one),
                            &holds(other),
                        )?
                    }
                    _ => NumExpr::one_if(BoolExpr::Cmp(a.clone(), op, NumExpr::N(b))),
                },
                a => NumExpr::one_if(BoolExpr::Cmp(a.clone(), op, NumExpr::N(b))),
            },
            _ => NumExpr::one_if(BoolExpr::Cmp(a.clone(), op, b.clone())),
        })
    }

    fn both(&mut self, a: &NumExpr, b: &NumExpr) -> NumExpr {
        match (fixed(a), fixed(b)) {
            (Some(a), Some(b)) => sure(!a.is_zero() && !b.is_zero()),
            (Some(one), None) => {
                if one.is_zero() {
                    sure(false)
                } else {
                    b.clone()
                }
            }
            (None, Some(one)) => {
                if one.is_zero() {
                    sure(false)
                } else {
                    a.clone()
                }
            }
            (None, None) => NumExpr::one_if(BoolExpr::All(vec![truth(a), truth(b)])),
        }
    }

    fn either(&mut self, a: &NumExpr, b: &NumExpr) -> NumExpr {
        match (fixed(a), fixed(b)) {
            (Some(a), Some(b)) => sure(!a.is_zero() || !b.is_zero()),
            (Some(one), None) => {
                if one.is_zero() {
                    b.clone()
                } else {
                    sure(true)
                }
            }
            (None, Some(one)) => {
                if one.is_zero() {
                    a.clone()
                } else {
                    sure(true)
                }
            }
            (None, None) => NumExpr::one_if(BoolExpr::Any(vec![truth(a), truth(b)])),
        }
    }

    fn not(&mut self, a: &NumExpr) -> NumExpr {
        match fixed(a) {
            Some(a) => sure(a.is_zero()),
            None => NumExpr::one_if(BoolExpr::Not(Box::new(truth(a)))),
        }
    }

    fn choose(
        &mut self,
        _: (Id, Id, Id),
        when: &NumExpr,
        a: &NumExpr,
        b: &NumExpr,
    ) -> Result<NumExpr, Overflow> {
        Ok(match fixed(when) {
            _ if a == b => a.clone(),
            Some(when) if when.is_zero() => b.clone(),
            Some(_) => a.clone(),
            None if *a == sure(false) && *b == sure(true) => self.not(when),
            None => NumExpr::If(
                Box::new(truth(when)),
                Box::new(a.clone()),
                Box::new(b.clone()),
            ),
        })
    }

    fn total(&mut self, at: Id, lines: &[NumExpr]) -> Result<NumExpr, Overflow> {
        if let Some(all) = all_fixed(lines) {
            return Ok(NumExpr::N(Dec::total(all)?));
        }
        let row = self.range(at, lines)?;
        let beside = self.beside(row)?;
        Ok(NumExpr::R(beside))
    }

    fn mates(
        &mut self,
        at: Id,
        keys: &[NumExpr],
        lines: &[NumExpr],
    ) -> Result<Vec<NumExpr>, Overflow> {
        let known = all_fixed(keys);
        if known.as_deref().is_some_and(apart) {
            return Ok(lines.to_vec());
        }
        if alike(keys) {
            let total = self.total(at, lines)?;
            return Ok(keys
                .iter()
                .map(|key| where_any(key, total.clone()))
                .collect());
        }
        let (numbers, row) = (self.range(at, lines)?, self.range(at, keys)?);
        let of = |(line, key): (u16, &NumExpr)| match fixed(key) {
            Some(key) if key.is_zero() => NumExpr::N(Dec::ZERO),
            _ => NumExpr::Group(
                self.page.all(row),
                self.page.all(numbers),
                self.page.of(row, line),
            ),
        };
        Ok((0..).zip(keys).map(of).collect())
    }

    fn distinct(&mut self, at: Id, keys: &[NumExpr]) -> Result<NumExpr, Overflow> {
        let row = self.range(at, keys)?;
        Ok(NumExpr::Distinct(self.page.all(row)))
    }

    fn spread(&mut self, at: Id, shared: Shared<'_, NumExpr>) -> Result<Vec<NumExpr>, Overflow> {
        let known = all_fixed(shared.keys);
        if known.as_deref().is_some_and(apart) && shared.keys.iter().all(|key| *key != sure(false))
        {
            return Ok(shared.whole.to_vec());
        }
        let keys = if alike(shared.keys) {
            None
        } else {
            Some(self.range(at, shared.keys)?)
        };
        let weights = self.range(at, shared.weights)?;
        self.beside(weights)?;
        self.reach(at.place())?;
        let Node::Spread(how) = &self.law.form.node(at).op else {
            return Err(Overflow);
        };
        let sharing = Share {
            weights,
            keys,
            digits: shared.digits,
            whole_units: self.in_units(how.whole, shared.digits),
        };
        let (what, _, _) = self.label(at);
        // one key for all lines either shares the whole or, where it is zero, nothing
        let amount = |line: u16| {
            let line = usize::from(line);
            let whole = shared.whole[line].clone();
            if keys.is_none() {
                where_any(&shared.keys[line], whole)
            } else {
                whole
            }
        };
        let row = self.page.share(&what, &amount, sharing)?;
        self.shared = Some(at);
        Ok((0..self.page.lines)
            .map(|line| NumExpr::R(self.page.of(row, line)))
            .collect())
    }

    /// Gives figures cells of their own where they are shown, added up, long, or looked at more than once.
    /// What is paid is no part of the law's form.
    fn settle(
        &mut self,
        _: Id,
        _: &NumExpr,
        _: &[Vec<NumExpr>],
        _: u32,
    ) -> Result<Vec<Vec<NumExpr>>, Overflow> {
        Err(Overflow)
    }

    fn keep(&mut self, at: Id, figures: &mut [NumExpr]) -> Result<(), Overflow> {
        self.reach(at.place())?;
        let placed = figures.iter().all(|one| matches!(one, NumExpr::R(_)));
        let fixed = figures.iter().all(|one| matches!(one, NumExpr::N(_)));
        let law = self.law;
        let section = self.next.checked_sub(1).and_then(|at| law.sections.get(at));
        let mut names = section.into_iter().flat_map(|section| &section.names);
        let name = names.find(|name| name.id == at && name.shown);
        match name {
            Some(name) if self.shared != Some(at) => self.show(name, figures)?,
            None if !placed && !fixed && self.needs_cells(at, figures) => {
                let (what, how, _) = self.label(at);
                let sums = (Look::Step, self.digits(at).is_some());
                self.write((&what, &how), sums, figures)?;
            }
            _ => {}
        }
        if self.again.contains(&at) {
            self.told.insert(at, figures.to_vec());
        }
        Ok(())
    }
}

impl Live<'_, '_> {
    fn needs_cells(&self, at: Id, figures: &[NumExpr]) -> bool {
        let longest = figures.iter().map(NumExpr::length).max().unwrap_or(0);
        let often = self.law.uses[at.place()] > 1;
        self.stands[at.place()] || longest > LONG || (often && longest > SHORT)
    }
}
