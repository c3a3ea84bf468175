//! A parcel of which single lines are turned into something else, one after another: what is paid for it each time.
//!
//! The form is made once, of more lines than the parcel has: each thing that a line could be is a line of its own, and one of
//! them sits in the line's seat. A form that leaves open which of its lines are there ([`lower_open`]) is made for that. When a
//! line is turned, a node is read again only where a figure that it looks at is another than before.
//!
//! It comes to the same as a new form of the parcel as it then stands, because the same operations are read with the same
//! figures: a node of a single line looks at that line's own figures and at those of the parcel, a node over all lines looks at
//! the lines that sit, and a node whose figures are the old ones has its old result.
//!
//! So that a turned line costs no more in a long parcel than in a short one, the form is first written once more with its totals
//! taken apart ([`Apart`]), and a total of which few lines moved is adjusted by what they moved. Both add up the same figures in
//! another order: where decimals end after 28 digits, sums can differ in the last of them, far below what any rounding of the
//! law looks at, and whoever compares what is paid leaves those digits out.

use super::algebra::{Cells, Seat, single, whole};
use super::exact::Exact;
use super::lower::lower_open;
use super::marks::StepMarks;
use super::totals::Apart;
use super::{Form, Id, Op};
use crate::rules::parcel::{Line, Parcel};
use crate::rules::program::Program;
use crate::tables::Kind;
use crate::units::{Dec, Overflow};

/// A parcel whose lines can be turned.
pub(in crate::rules) struct Turning {
    /// The parcel with all that its lines could be.
    all: Parcel,
    form: Form,
    /// For each line of the parcel, the first of the lines of the form that could sit there.
    firsts: Vec<usize>,
    /// Which of them sits there.
    seated: Vec<usize>,
    /// Figures of the lines that sit.
    cells: Cells<Dec>,
    /// For each node, the seats at which its figure was another when it was read last, and what it was before.
    moved: Vec<Vec<(usize, Dec)>>,
    /// The nodes that a turned line can reach.
    reached: Vec<usize>,
    /// For each node, those that it looks at.
    looks_at: Vec<Vec<Id>>,
    /// Of each charge that is paid, whether it counts and what it comes to.
    charges: Vec<(Id, Id)>,
    gaps: Id,
}

impl Turning {
    /// A parcel of lines, each of which is one of several; the first of them stands. None where the rows look at more of the
    /// parcel than a form can leave open.
    pub(in crate::rules) fn open(
        program: &Program,
        parcel: &Parcel,
        lines: Vec<Vec<Line>>,
    ) -> Result<Option<Turning>, Overflow> {
        let mut firsts = Vec::with_capacity(lines.len());
        let mut all = Parcel {
            lines: Vec::new(),
            ..parcel.clone()
        };
        for line in lines {
            firsts.push(all.lines.len());
            all.lines.extend(line);
        }
        let Some((form, marks)) = lower_open(program, &all)? else {
            return Ok(None);
        };
        let charges = marks.steps.iter().filter_map(StepMarks::charge);
        let charges: Vec<(Id, Id)> = charges
            .filter(|one| one.kind != Kind::Value)
            .map(|one| (one.counts, one.shares))
            .collect();
        let mut turning = Turning::of(all, firsts, &form, &charges, marks.gaps)?;
        turning.read()?;
        Ok(Some(turning))
    }

    /// A form with its totals taken apart, of which nothing has been read yet.
    fn of(
        all: Parcel,
        firsts: Vec<usize>,
        form: &Form,
        charges: &[(Id, Id)],
        gaps: Id,
    ) -> Result<Turning, Overflow> {
        let mut apart = Apart::new(form, firsts.len())?;
        let charges = charges
            .iter()
            .map(|(counts, shares)| Ok((apart.node(*counts)?, apart.total(*shares)?)))
            .collect::<Result<Vec<_>, _>>()?;
        let gaps = apart.node(gaps)?;
        let mut form = apart.form();
        let roots = charges.iter().flat_map(|(counts, sum)| [*counts, *sum]);
        form.cut(roots.chain([gaps]));
        let nodes = form.nodes.len();
        let looks_at: Vec<Vec<Id>> = form.nodes.iter().map(|node| node.op.looks_at()).collect();
        Ok(Turning {
            all,
            reached: reached(&form, &looks_at),
            looks_at,
            form,
            seated: firsts.clone(),
            firsts,
            cells: Cells {
                all: Vec::new(),
                starts: Vec::with_capacity(nodes),
            },
            moved: vec![Vec::new(); nodes],
            charges,
            gaps,
        })
    }

    /// Seats another of the lines that a line could be, by its place among them.
    pub(in crate::rules) fn turn(&mut self, at: usize, nth: usize) -> Result<(), Overflow> {
        let line = self.firsts[at] + nth;
        if self.seated[at] == line {
            return Ok(());
        }
        self.seated[at] = line;
        for nth in 0..self.reached.len() {
            let place = self.reached[nth];
            self.moved[place].clear();
            let again = self.again(place, at);
            if !again.is_empty() {
                self.read_again(place, again)?;
            }
        }
        Ok(())
    }

    /// What is paid as the lines sit.
    pub(in crate::rules) fn sum(&self) -> Result<Dec, Overflow> {
        let figure = |id: Id| *self.cells.at(id, 0);
        let counted = self
            .charges
            .iter()
            .filter(|(counts, _)| !figure(*counts).is_zero());
        Dec::total(counted.map(|(_, sum)| figure(*sum)))
    }

    /// Whether a line lacks a rate that it is owed.
    pub(in crate::rules) fn gap(&self, at: usize) -> bool {
        !self.cells.at(self.gaps, at).is_zero()
    }

    /// Reads every node for the lines that sit.
    fn read(&mut self) -> Result<(), Overflow> {
        for place in 0..self.form.nodes.len() {
            let by_line = self.form.nodes[place].by_line;
            let start = self.cells.all.len();
            let seats = if by_line { self.seated.len() } else { 1 };
            self.cells.all.resize(start + seats, Dec::ZERO);
            self.cells.starts.push((start, by_line));
            self.read_again(place, (0..seats).collect())?;
            self.moved[place].clear();
        }
        Ok(())
    }

    /// The seats at which a node must be read again when a line has been turned.
    fn again(&self, place: usize, turned: usize) -> Vec<usize> {
        let node = &self.form.nodes[place];
        if matches!(node.op, Op::Column(_)) {
            return vec![turned];
        }
        let looks_at = || self.looks_at[place].iter();
        let moved = || looks_at().filter(|id| !self.moved[id.place()].is_empty());
        if moved().next().is_none() {
            return Vec::new();
        }
        let whole = moved().any(|id| !self.form.node(*id).by_line);
        if !node.by_line {
            return vec![0];
        }
        if whole {
            return (0..self.seated.len()).collect();
        }
        let mut seats: Vec<usize> = looks_at()
            .flat_map(|id| self.moved[id.place()].iter().map(|(seat, _)| *seat))
            .collect();
        seats.sort_unstable();
        seats.dedup();
        seats
    }

    /// Reads a node at some seats, or at all where it looks at all lines at once, and notes where it has moved.
    fn read_again(&mut self, place: usize, seats: Vec<usize>) -> Result<(), Overflow> {
        let node = &self.form.nodes[place];
        let id = id_of(place)?;
        if let Some(sum) = self.adjusted(place)? {
            self.put(place, 0, sum);
            return Ok(());
        }
        let mut exact = Exact(&self.all);
        if let Some(all) = whole(self.seated.len(), &mut exact, id, &node.op, &self.cells)? {
            for (at, figure) in all.into_iter().enumerate() {
                self.put(place, at, figure);
            }
            return Ok(());
        }
        for at in seats {
            let line = self.seated[at];
            let node = &self.form.nodes[place];
            let seat = Seat { at, line };
            let mut exact = Exact(&self.all);
            let figure = single(&self.form, &mut exact, id, &node.op, &self.cells, seat)?;
            self.put(place, at, figure);
        }
        Ok(())
    }

    /// A total of which few lines have moved: the old one, and what they moved.
    fn adjusted(&self, place: usize) -> Result<Option<Dec>, Overflow> {
        let Op::Total(of) = self.form.nodes[place].op else {
            return Ok(None);
        };
        let moved = &self.moved[of.place()];
        if !self.form.node(of).by_line || moved.is_empty() || moved.len() > self.seated.len() / 4 {
            return Ok(None);
        }
        let mut sum = *self.cells.at(id_of(place)?, 0);
        for (seat, before) in moved {
            sum = sum.plus(self.cells.at(of, *seat).minus(*before)?)?;
        }
        Ok(Some(sum))
    }

    fn put(&mut self, place: usize, at: usize, figure: Dec) {
        let (start, _) = self.cells.starts[place];
        let known = &mut self.cells.all[start + at];
        if *known != figure {
            self.moved[place].push((at, std::mem::replace(known, figure)));
        }
    }
}

fn id_of(place: usize) -> Result<Id, Overflow> {
    u32::try_from(place).map(Id).map_err(|_| Overflow)
}

/// The places of the nodes that hang on which line sits: on a fact of it that is fixed, as its figures are those of every line
/// that could sit there.
fn reached(form: &Form, looks_at: &[Vec<Id>]) -> Vec<usize> {
    let mut hangs = vec![false; form.nodes.len()];
    for (place, node) in form.nodes.iter().enumerate() {
        let own = matches!(node.op, Op::Column(_));
        hangs[place] = own || looks_at[place].iter().any(|id| hangs[id.place()]);
    }
    (0..hangs.len()).filter(|place| hangs[*place]).collect()
}
