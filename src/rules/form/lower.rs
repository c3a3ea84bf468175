//! From a program and the facts of a parcel to its form: opens the books, takes each row in its order, and closes.

use std::collections::BTreeMap;

use super::maker::Maker;
use super::marks::{ChargeMarks, Marks, ReliefMarks, StepMarks};
use super::{Form, Id, Input, Measure, Origin, What};
use crate::rules::condition::Facts;
use crate::rules::ledger::{Ledger, Resolved};
use crate::rules::parcel::{Line, Parcel};
use crate::rules::program::Program;
use crate::rules::rate::RateTable;
use crate::rules::step::Step;
use crate::tables::{Collect, Factor, Kind, Level, RateFrom};
use crate::units::{Dec, HomeMoney, Overflow};

/// The law of one parcel, written out; its figures are open, its other facts are fixed.
pub(crate) fn lower(program: &Program, parcel: &Parcel) -> Result<(Form, Marks), Overflow> {
    lower_with(program, (&program.tariff, &program.taxes), parcel)
}

/// The same with other tables of rates than the program's own: of duty, and of taxes.
pub(crate) fn lower_with(
    program: &Program,
    rates: (&RateTable, &RateTable),
    parcel: &Parcel,
) -> Result<(Form, Marks), Overflow> {
    let maker = Maker::new(parcel.lines.len());
    write(Lowering::open(program, rates, parcel, maker)?)
}

/// The same with the figures of rows kept apart, so that they can be changed.
pub(super) fn lower_live(program: &Program, parcel: &Parcel) -> Result<(Form, Marks), Overflow> {
    let mut maker = Maker::new(parcel.lines.len());
    maker.origin = Some(Origin::table("border_freight.csv"));
    let rates = (&program.tariff, &program.taxes);
    write(Lowering::open(program, rates, parcel, maker)?)
}

/// The law of parcels that hold some of these lines, and at least one: nothing is worked out that hangs on which they are. None
/// where the rows look at more of the parcel than a form can leave open.
pub(crate) fn lower_open(
    program: &Program,
    parcel: &Parcel,
) -> Result<Option<(Form, Marks)>, Overflow> {
    let maker = Maker::open(parcel.lines.len());
    let rates = (&program.tariff, &program.taxes);
    let mut work = Lowering::open(program, rates, parcel, maker)?;
    work.steps_of_program()?;
    if work.make.fixed_lines {
        return Ok(None);
    }
    work.close().map(Some)
}

fn write(mut work: Lowering<'_>) -> Result<(Form, Marks), Overflow> {
    work.steps_of_program()?;
    work.close()
}

/// Where a line's tax is taken, as a figure.
pub(super) fn mark_of(collect: Collect) -> Dec {
    Dec::from(match collect {
        Collect::AtBorder => 0_u32,
        Collect::AtSale => 1,
        Collect::Nowhere => 2,
    })
}

/// Where tax is taken, by its figure.
pub(crate) fn collect_of(mark: Dec) -> Collect {
    Collect::ALL
        .into_iter()
        .find(|collect| mark_of(*collect) == mark)
        .unwrap_or(Collect::AtBorder)
}

/// A form in the making, as far as the rows have come.
pub(super) struct Lowering<'a> {
    pub(super) program: &'a Program,
    pub(super) parcel: &'a Parcel,
    /// Rates of duty, and of taxes.
    rates: (&'a RateTable, &'a RateTable),
    /// For each line, the first that is the same to rules but for its figures: of those alike one is looked at.
    pub(super) alike: Vec<usize>,
    /// Numbers of items by level, given once.
    pub(super) items: Vec<(Level, Id)>,
    /// An empty ledger: conditions on sums are never asked of it.
    ledger: Ledger,
    pub(super) make: Maker,
    /// What stands in each column, in the destination's money.
    pub(super) columns: Vec<Id>,
    /// The parts of the price, in the seller's money.
    pub(super) sellers: Vec<Id>,
    pub(super) collect: Id,
    /// By kind or id: whether a relief has dropped it, line by line.
    pub(super) dropped: BTreeMap<String, Id>,
    /// The same for limits that do not test the duty itself, from whose sum a rate that nobody knows would be missing.
    pub(super) surely: BTreeMap<String, Id>,
    pub(super) steps: Vec<StepMarks>,
    /// How many nodes there were before each step, and before the fee at last.
    begins: Vec<usize>,
    /// Whether the carrier's own fee has been taken.
    pub(super) fee_taken: Id,
}

impl<'a> Lowering<'a> {
    fn open(
        program: &'a Program,
        rates: (&'a RateTable, &'a RateTable),
        parcel: &'a Parcel,
        mut make: Maker,
    ) -> Result<Lowering<'a>, Overflow> {
        let sellers = prices(&mut make, parcel)?;
        let zero = make.zero();
        let mut columns = vec![zero; program.names.len()];
        let freight = make.home(sellers[2]);
        let border = border(&mut make, parcel, freight)?;
        let inland = make.minus(freight, border)?;
        let home = [
            make.home(sellers[0]),
            make.home(sellers[1]),
            freight,
            border,
            inland,
            make.home(sellers[5]),
        ];
        columns
            .iter_mut()
            .zip(home)
            .for_each(|(column, own)| *column = own);
        let mut work = Lowering {
            program,
            parcel,
            rates,
            alike: first_alike(&parcel.lines),
            items: Vec::new(),
            ledger: Ledger::default(),
            make,
            columns,
            sellers,
            collect: zero,
            dropped: BTreeMap::new(),
            surely: BTreeMap::new(),
            steps: Vec::with_capacity(program.steps.len()),
            begins: Vec::with_capacity(program.steps.len() + 1),
            fee_taken: zero,
        };
        work.schedules();
        Ok(work)
    }

    fn begin(&mut self) {
        self.begins.push(self.make.form.nodes.len());
    }

    fn steps_of_program(&mut self) -> Result<(), Overflow> {
        for (at, step) in self.program.steps.iter().enumerate() {
            self.begin();
            match step {
                Step::Charge(step) => {
                    self.reads(&step.stamp, &step.id);
                    self.charge(at, step)?;
                }
                Step::Relief(step) => {
                    self.reads(&step.stamp, &step.id);
                    self.relief(at, step)?;
                }
            }
        }
        self.begin();
        self.own_fee_at_last()
    }

    /// Freight schedules that rules name: the parcel's price, shared by mass.
    fn schedules(&mut self) {
        let kilograms = self.make.input(Input::Kilograms);
        let all = self.make.fixed(Dec::ONE);
        for (name, slot) in self.program.names.schedules() {
            let price = self
                .parcel
                .schedules
                .get(name)
                .copied()
                .unwrap_or(HomeMoney::ZERO);
            let what = || What::Schedule(name.to_owned());
            let price = self.make.figure(price.amount(), Measure::Home, what);
            self.columns[slot] =
                self.make
                    .spread(price, kilograms, all, self.program.currency.digits());
        }
    }

    /// The table that a charge takes its rate from.
    pub(super) fn table(&self, from: &RateFrom) -> &'a RateTable {
        match from {
            RateFrom::Tariff(_) => self.rates.0,
            RateFrom::Taxes(_) => self.rates.1,
        }
    }

    pub(super) fn facts(&self) -> Facts<'_> {
        Facts {
            parcel: self.parcel,
            ledger: &self.ledger,
            collect: &[],
            groups: &self.program.groups,
        }
    }

    /// A sum of columns for each line: of the destination's money, or of the seller's parts of the price.
    pub(super) fn sum(&mut self, sum: &Resolved, measure: Measure) -> Result<Id, Overflow> {
        let mut total = self.make.zero();
        for term in sum.terms() {
            let zero = self.make.zero();
            let column = |slot: &usize| match measure {
                Measure::Seller => self.sellers.get(*slot).copied().unwrap_or(zero),
                Measure::Home | Measure::Plain => self.columns.get(*slot).copied().unwrap_or(zero),
            };
            let columns: Vec<Id> = term.slots.iter().map(column).collect();
            let amount = self.make.sum(columns)?;
            let amount = match &term.factor {
                Factor::Fraction(over, under) => self.make.part(amount, *over, *under)?,
                Factor::Trait(name) => {
                    let figures = self
                        .parcel
                        .lines
                        .iter()
                        .map(|line| line.figure(name).unwrap_or(Dec::ZERO))
                        .collect();
                    let figures = self.make.column(figures, Measure::Plain);
                    self.make.times(amount, figures)?
                }
            };
            total = if term.minus {
                self.make.minus(total, amount)?
            } else {
                self.make.plus(total, amount)?
            };
        }
        Ok(total)
    }

    /// Whether a relief has dropped rows of a kind and id so far, line by line.
    pub(super) fn relieved(&mut self, kind: Kind, id: &str) -> Result<Id, Overflow> {
        let zero = self.make.zero();
        let of = |name: &str| self.dropped.get(name).copied().unwrap_or(zero);
        let (by_kind, by_id) = (of(kind.name()), of(&format!("charge:{id}")));
        self.make.either(by_kind, by_id)
    }

    /// Whether a duty is gone whatever its rate, line by line.
    pub(super) fn surely_gone(&mut self, kind: Kind, id: &str) -> Result<Id, Overflow> {
        let zero = self.make.zero();
        let of = |name: &str| self.surely.get(name).copied().unwrap_or(zero);
        let (by_kind, by_id) = (of(kind.name()), of(&format!("charge:{id}")));
        self.make.either(by_kind, by_id)
    }

    /// Pieces declared on the line of the declaration that each line is on.
    pub(super) fn declared_pieces(&mut self) -> Result<Id, Overflow> {
        let own = self.make.input(Input::Pieces);
        if self.parcel.lines.iter().all(|line| line.whole.is_none()) {
            return Ok(own);
        }
        let whole = self
            .parcel
            .lines
            .iter()
            .map(|line| Dec::from(line.whole.unwrap_or(0)))
            .collect();
        let whole = self.make.column(whole, Measure::Plain);
        let parts = self.parts();
        self.make.choose(parts, whole, own)
    }

    /// The same, counted once: at the first of the lines that are declared as one.
    pub(super) fn pieces_once(&mut self) -> Result<Id, Overflow> {
        let pieces = self.declared_pieces()?;
        let lines = 0..self.parcel.lines.len();
        // which of them is first hangs on which are there
        self.make.fixed_lines |= self.parcel.lines.iter().any(|line| line.whole.is_some());
        let first = self.parcel.lines.iter().position(|l| l.whole.is_some());
        let later = lines
            .map(|at| self.parcel.is_part(at) && first.is_some_and(|first| first < at))
            .collect::<Vec<_>>();
        let later = self.make.truths(later.into_iter());
        let first = self.make.not(later)?;
        self.make.only(first, pieces)
    }

    /// Lines that are part of a thing that is declared as one.
    pub(super) fn parts(&mut self) -> Id {
        let parts: Vec<bool> = (0..self.parcel.lines.len())
            .map(|at| self.parcel.is_part(at))
            .collect();
        self.make.truths(parts.into_iter())
    }

    /// The sum over the lines that are declared as one with each line.
    pub(super) fn declared_together(&mut self, each: Id) -> Result<Id, Overflow> {
        if self.parcel.lines.iter().all(|line| line.whole.is_none()) {
            return Ok(each);
        }
        let keys = (0_u32..)
            .zip(&self.parcel.lines)
            .map(|(at, line)| Dec::from(if line.whole.is_some() { 1 } else { at + 2 }));
        let keys = self.make.column(keys.collect(), Measure::Plain);
        self.make.mates(keys, each)
    }

    fn close(mut self) -> Result<(Form, Marks), Overflow> {
        self.begin();
        let gaps = self.gaps()?;
        let ended = self.ended()?;
        let mut due = BTreeMap::new();
        for kind in [
            Kind::Duty,
            Kind::Remedy,
            Kind::Tax,
            Kind::SaleTax,
            Kind::Fee,
        ] {
            let shares: Vec<Id> = self
                .entered()
                .filter(|charge| charge.kind == kind)
                .map(|charge| charge.shares)
                .collect();
            due.insert(kind.name(), self.make.sum(shares)?);
        }
        let paid: Vec<Id> = self.entered().filter_map(|charge| charge.paid).collect();
        let paid = self.make.sum(paid)?;
        let marks = Marks {
            steps: self.steps,
            begins: self.begins,
            sellers: self.sellers,
            gaps,
            ended,
            collect: self.collect,
            due,
            paid,
            columns: self.columns,
        };
        Ok((self.make.finish()?, marks))
    }

    /// Charges that came to something when they were looked at.
    pub(super) fn entered(&self) -> impl Iterator<Item = &ChargeMarks> {
        self.steps.iter().filter_map(StepMarks::charge)
    }

    pub(super) fn note_relief(&mut self, relief: ReliefMarks) {
        self.steps.push(StepMarks::Relief(relief));
    }

    pub(super) fn note_not_due(&mut self, at: usize) {
        self.steps.push(StepMarks::NotDue(at));
    }
}

/// For each line, the first whose fixed facts are the same.
fn first_alike(lines: &[Line]) -> Vec<usize> {
    let mut firsts = BTreeMap::new();
    let mut found = Vec::with_capacity(lines.len());
    for (at, line) in lines.iter().enumerate() {
        let goods = (&line.commodity, &line.origin, line.preference);
        let named = (&line.places, &line.traits);
        found.push(*firsts.entry((goods, named)).or_insert(at));
    }
    found
}

fn prices(make: &mut Maker, parcel: &Parcel) -> Result<Vec<Id>, Overflow> {
    let [list, goods, freight, insurance] =
        [Input::List, Input::Goods, Input::Freight, Input::Insurance]
            .map(|input| make.input(input));
    let border = border(make, parcel, freight)?;
    let inland = make.minus(freight, border)?;
    Ok(vec![list, goods, freight, border, inland, insurance])
}

fn border(make: &mut Maker, parcel: &Parcel, freight: Id) -> Result<Id, Overflow> {
    let percent = make.figure(parcel.border_freight.0, Measure::Plain, || {
        What::BorderFreight
    });
    make.percent_of(freight, percent)
}
