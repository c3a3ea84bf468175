//! The one evaluator: walks a form, and asks an algebra for every operation.

use std::sync::Arc;

use super::{Form, Id, Input, Op, Settle};
use crate::tables;
use crate::units::{Dec, Rounding};

/// What a reading does with figures. Truths are one and zero.
pub(crate) trait Algebra {
    /// A figure.
    type Number: Clone;
    /// Why it gives up.
    type Fault;

    fn fixed(&mut self, at: Id, value: Dec) -> Result<Self::Number, Self::Fault>;
    /// A figure that may be changed, by its place among those of the form.
    fn figure(&mut self, at: Id, _: usize, value: Dec) -> Result<Self::Number, Self::Fault> {
        self.fixed(at, value)
    }
    fn input(&mut self, at: Id, input: Input, line: usize) -> Result<Self::Number, Self::Fault>;
    fn home(&mut self, at: Id, a: &Self::Number) -> Result<Self::Number, Self::Fault>;
    fn plus(
        &mut self,
        at: (Id, Id, Id),
        a: &Self::Number,
        b: &Self::Number,
    ) -> Result<Self::Number, Self::Fault>;
    fn minus(
        &mut self,
        at: (Id, Id, Id),
        a: &Self::Number,
        b: &Self::Number,
    ) -> Result<Self::Number, Self::Fault>;
    fn times(
        &mut self,
        at: Id,
        a: &Self::Number,
        b: &Self::Number,
    ) -> Result<Self::Number, Self::Fault>;
    fn part(
        &mut self,
        at: Id,
        a: &Self::Number,
        times: Dec,
        over: Dec,
    ) -> Result<Self::Number, Self::Fault>;
    fn over(
        &mut self,
        at: Id,
        a: &Self::Number,
        b: &Self::Number,
    ) -> Result<Self::Number, Self::Fault>;
    fn least(
        &mut self,
        at: (Id, Id, Id),
        a: &Self::Number,
        b: &Self::Number,
    ) -> Result<Self::Number, Self::Fault>;
    fn most(
        &mut self,
        at: (Id, Id, Id),
        a: &Self::Number,
        b: &Self::Number,
    ) -> Result<Self::Number, Self::Fault>;
    fn round(
        &mut self,
        at: (Id, Id),
        a: &Self::Number,
        rounding: Rounding,
    ) -> Result<Self::Number, Self::Fault>;
    fn compare(
        &mut self,
        at: (Id, Id, Id),
        a: &Self::Number,
        op: tables::Op,
        b: &Self::Number,
    ) -> Result<Self::Number, Self::Fault>;
    fn both(&mut self, a: &Self::Number, b: &Self::Number) -> Self::Number;
    fn either(&mut self, a: &Self::Number, b: &Self::Number) -> Self::Number;
    fn not(&mut self, a: &Self::Number) -> Self::Number;
    fn choose(
        &mut self,
        at: (Id, Id, Id),
        when: &Self::Number,
        a: &Self::Number,
        b: &Self::Number,
    ) -> Result<Self::Number, Self::Fault>;
    fn total(&mut self, at: Id, lines: &[Self::Number]) -> Result<Self::Number, Self::Fault>;
    fn mates(
        &mut self,
        at: Id,
        keys: &[Self::Number],
        lines: &[Self::Number],
    ) -> Result<Vec<Self::Number>, Self::Fault>;
    fn distinct(&mut self, at: Id, keys: &[Self::Number]) -> Result<Self::Number, Self::Fault>;
    fn spread(
        &mut self,
        at: Id,
        shared: Shared<'_, Self::Number>,
    ) -> Result<Vec<Self::Number>, Self::Fault>;
    /// Parts, line by line, in whole units that add up to the whole; each part's figures, line by line.
    fn settle(
        &mut self,
        at: Id,
        whole: &Self::Number,
        parts: &[Vec<Self::Number>],
        digits: u32,
    ) -> Result<Vec<Vec<Self::Number>>, Self::Fault>;
    /// Told the figures of a node when all of them are known, one or one for each line: it may put others in their place that
    /// stand for them.
    fn keep(&mut self, _: Id, _: &mut [Self::Number]) -> Result<(), Self::Fault> {
        Ok(())
    }
}

/// A whole for each key, the weights, and the keys, line by line.
pub(crate) struct Shared<'a, N> {
    pub(crate) whole: &'a [N],
    pub(crate) weights: &'a [N],
    pub(crate) keys: &'a [N],
    pub(crate) digits: u32,
}

/// The figures of all nodes.
#[derive(Debug, Clone)]
pub(crate) struct Cells<N> {
    pub(super) all: Vec<N>,
    pub(super) starts: Vec<(usize, bool)>,
}

/// Which of the lines with figures is looked at, and which line of the form it is: the same, where every line of the form is there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seat {
    pub(super) at: usize,
    pub(super) line: usize,
}

impl<N: Clone> Cells<N> {
    /// A node's figure for a line.
    pub(crate) fn at(&self, id: Id, line: usize) -> &N {
        let (start, by_line) = self.starts[id.place()];
        &self.all[if by_line { start + line } else { start }]
    }

    /// A node's figure for the parcel, or for its first line; none where it has no line.
    pub(crate) fn first(&self, id: Id) -> Option<&N> {
        let (start, by_line) = self.starts[id.place()];
        let end = self
            .starts
            .get(id.place() + 1)
            .map_or(self.all.len(), |next| next.0);
        (!by_line || start < end).then(|| &self.all[start])
    }

    fn column(&self, id: Id, lines: usize) -> Vec<N> {
        (0..lines).map(|line| self.at(id, line).clone()).collect()
    }
}

/// Reads a form with an algebra.
pub(crate) fn evaluate<A: Algebra>(
    form: &Form,
    algebra: &mut A,
) -> Result<Cells<A::Number>, A::Fault> {
    let mut cells = Cells {
        all: Vec::with_capacity(form.nodes.len()),
        starts: Vec::with_capacity(form.nodes.len()),
    };
    let mut settled = None;
    for (place, node) in (0..).zip(&form.nodes) {
        let id = Id(place);
        let start = cells.all.len();
        if let Op::Settle(how) = &node.op {
            let parts = settle(form, algebra, id, how, &cells, &mut settled)?;
            cells.all.extend(parts.iter().cloned());
        } else if let Some(together) = whole(form.lines, algebra, id, &node.op, &cells)? {
            cells.all.extend(together);
        } else {
            for line in 0..if node.by_line { form.lines } else { 1 } {
                let seat = Seat { at: line, line };
                let figure = single(form, algebra, id, &node.op, &cells, seat)?;
                cells.all.push(figure);
            }
        }
        algebra.keep(id, &mut cells.all[start..])?;
        cells.starts.push((start, node.by_line));
    }
    Ok(cells)
}

/// The parts of the lines that were settled last.
type Settled<N> = Option<(Arc<[Id]>, Vec<Vec<N>>)>;

/// One of the parts that are settled together. All of them are found at once, and kept while the next nodes ask for the others.
fn settle<'s, A: Algebra>(
    form: &Form,
    algebra: &mut A,
    at: Id,
    how: &Settle,
    cells: &Cells<A::Number>,
    settled: &'s mut Settled<A::Number>,
) -> Result<&'s [A::Number], A::Fault> {
    let known = settled
        .take()
        .filter(|(parts, _)| Arc::ptr_eq(parts, &how.parts));
    let found = match known {
        Some(found) => found,
        None => {
            let column = |id: &Id| cells.column(*id, form.lines);
            let parts: Vec<Vec<A::Number>> = how.parts.iter().map(column).collect();
            let whole = cells.at(how.whole, 0);
            (
                Arc::clone(&how.parts),
                algebra.settle(at, whole, &parts, how.digits)?,
            )
        }
    };
    let (_, parts) = settled.insert(found);
    Ok(&parts[how.nth])
}

/// Operations that look at all lines at once.
pub(super) fn whole<A: Algebra>(
    lines: usize,
    algebra: &mut A,
    at: Id,
    op: &Op,
    cells: &Cells<A::Number>,
) -> Result<Option<Vec<A::Number>>, A::Fault> {
    let column = |id: &Id| cells.column(*id, lines);
    Ok(match op {
        Op::Total(a) => Some(vec![algebra.total(at, &column(a))?]),
        Op::Mates(keys, a) => Some(algebra.mates(at, &column(keys), &column(a))?),
        Op::Distinct(keys) => Some(vec![algebra.distinct(at, &column(keys))?]),
        Op::Spread(how) => {
            let (whole, weights, keys) =
                (column(&how.whole), column(&how.weights), column(&how.keys));
            Some(algebra.spread(
                at,
                Shared {
                    whole: &whole,
                    weights: &weights,
                    keys: &keys,
                    digits: how.digits,
                },
            )?)
        }
        _ => None,
    })
}

/// Operations on the figures of one line.
pub(super) fn single<A: Algebra>(
    form: &Form,
    algebra: &mut A,
    at: Id,
    op: &Op,
    cells: &Cells<A::Number>,
    Seat { at: seat, line }: Seat,
) -> Result<A::Number, A::Fault> {
    let of = |id: &Id| cells.at(*id, seat);
    match op {
        Op::Fixed(value) => algebra.fixed(at, *value),
        Op::Figure(which) => algebra.figure(at, *which, form.figures[*which].value),
        Op::Column(values) => algebra.fixed(at, values[line]),
        Op::Input(input) => algebra.input(at, *input, line),
        Op::Home(a) => algebra.home(at, of(a)),
        Op::Plus(a, b) => algebra.plus((at, *a, *b), of(a), of(b)),
        Op::Minus(a, b) => algebra.minus((at, *a, *b), of(a), of(b)),
        Op::Times(a, b) => algebra.times(at, of(a), of(b)),
        Op::Part(a, times, over) => algebra.part(at, of(a), *times, *over),
        Op::Over(a, b) => algebra.over(at, of(a), of(b)),
        Op::Least(a, b) => algebra.least((at, *a, *b), of(a), of(b)),
        Op::Most(a, b) => algebra.most((at, *a, *b), of(a), of(b)),
        Op::Round(a, rounding) => algebra.round((at, *a), of(a), *rounding),
        Op::Compare(a, op, b) => algebra.compare((at, *a, *b), of(a), *op, of(b)),
        Op::Both(a, b) => Ok(algebra.both(of(a), of(b))),
        Op::Either(a, b) => Ok(algebra.either(of(a), of(b))),
        Op::Not(a) => Ok(algebra.not(of(a))),
        Op::Choose(when, a, b) => algebra.choose((at, *a, *b), of(when), of(a), of(b)),
        Op::Total(a) | Op::Mates(_, a) | Op::Distinct(a) => Ok(of(a).clone()),
        Op::Spread(how) => Ok(of(&how.whole).clone()),
        Op::Settle(how) => Ok(of(&how.whole).clone()),
    }
}
