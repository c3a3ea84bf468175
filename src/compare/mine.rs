//! The build as it is compared: by what it would cost to buy again, else by what was paid, and by the scale before any sum.

use crate::book::{Book, Part, Standing};
use crate::estimate::root;
use crate::landed::{
    Cautions, Disputed, Jurisdiction, Landed, Totals, paid_instead, replacement_unknown,
};
use crate::tables::Need;
use crate::units::{Dec, Grams, HomeMoney, Mode, Overflow};
use crate::value::Status;
use crate::value::basis::{self, Span};
use crate::value::bench::{self, Bench};
use crate::value::doubt::{self, Doubt};
use crate::value::scale::{OnScale, on_scale, told};

/// By what the cost of the build is held against bikes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Compared {
    /// By what it would cost to buy again.
    Replacement,
    /// By what was paid, for parts that have no price to buy them again at; by their price for all others.
    Paid,
    /// By nothing: neither prices nor payments are known, and there is no verdict on price.
    Nothing,
}

impl Compared {
    /// Its word in the outputs.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Compared::Replacement => "replacement",
            Compared::Paid => "paid",
            Compared::Nothing => "nothing",
        }
    }
}

/// The build, as it is compared.
#[derive(Debug, Clone)]
pub struct Mine {
    /// What the next person would pay for it, in the destination's money.
    pub replacement: Dec,
    /// Parts whose replacement value is not known and not in it.
    pub(crate) replacement_unknown: Vec<String>,
    /// What is held against bikes: the replacement value, and what was paid for parts without one.
    pub cost: Dec,
    /// By what.
    pub compared: Compared,
    /// Parts without a replacement value that are compared by what was paid for them.
    pub(crate) by_paid: Vec<String>,
    /// Parts of which neither is known.
    pub(crate) price_unknown: Vec<String>,
    /// What it would be without rows in dispute, and those rows with their charges; with anti-dumping where that is only
    /// shown. None where that changes nothing.
    pub disputed: Option<(Dec, Vec<Disputed>)>,
    /// The replacement value without the rows in dispute, whatever `remedies` says; none where it is the same.
    pub(crate) undisputed: Option<Dec>,
    /// The replacement value with every row, whatever `remedies` says; none where it is the same.
    pub(crate) with_disputed: Option<Dec>,
    /// Really paid.
    pub spent: Dec,
    /// Still to pay.
    pub to_pay: Dec,
    /// Parts that are still to be paid at a price that is not known, and that is not in it.
    pub(crate) to_pay_unknown: Vec<String>,
    /// What it weighs on the basis: as the scale said, else what its parts add up to, with what the rider carries where the
    /// basis counts it.
    pub mass: Grams,
    /// The whole bike on the scale; none when it was not weighed, or the reading cannot be used.
    pub scale: Option<OnScale>,
    /// How far under and over its mass it may weigh, by what the tables added to the scale's figure or took off.
    pub(crate) give: (Grams, Grams),
    /// How much of that was weighed.
    pub weighed: Grams,
    /// What a scale will probably say of it, and its standard deviation, by how each mass is known; none where the tables
    /// have no range for that, or the scale has said it.
    pub expected: Option<(Grams, Grams)>,
    /// What the rider carries, by the tables; none where the basis does not count it, or it lay on the scale.
    pub(crate) carried: Option<Span>,
    /// Parts on the basis whose mass is not known and not in it.
    pub(crate) mass_unknown: Vec<String>,
    /// Required places that nothing fills.
    pub(crate) empty: Vec<String>,
    /// What is missing usually weighs: the least and the most.
    pub(crate) missing: (Grams, Grams),
    /// Rows of tools, consumables, shop work and spares that are left out.
    pub tools_left_out: usize,
    /// How it stands among all that are compared.
    pub(crate) status: Status,
}

impl Mine {
    /// Whether no required part is missing: of half a bike there is no verdict.
    pub(crate) fn is_whole(&self) -> bool {
        self.empty.is_empty()
    }

    /// Whether it stands among bikes by price and mass.
    pub(crate) fn is_judged(&self) -> bool {
        self.is_weighable() && self.compared != Compared::Nothing
    }

    /// Whether no part of it has a mass that is known: what the tables add for the rider is none of its own.
    pub(crate) fn has_no_mass(&self) -> bool {
        let rider = self.carried.map_or(Grams::ZERO, |span| span.likely);
        self.scale.is_none() && self.mass <= rider && !self.mass_unknown.is_empty()
    }

    /// Whether there is a verdict on its mass: it is whole, and some of it has a mass.
    pub(crate) fn is_weighable(&self) -> bool {
        self.is_whole() && !self.has_no_mass()
    }

    /// Whether what it costs is a floor, as the price of some part is not known.
    pub(crate) fn is_floor(&self) -> bool {
        !self.price_unknown.is_empty()
    }

    /// Whether something of it is still to be paid, so that finishing it can be held against buying a bike.
    pub(crate) fn is_to_finish(&self) -> bool {
        self.is_whole() && !(self.to_pay.is_zero() && self.to_pay_unknown.is_empty())
    }

    /// Whether no part has a price to buy it again at, though some have none that is known.
    pub(crate) fn has_no_price(&self) -> bool {
        self.replacement.is_zero() && !self.replacement_unknown.is_empty()
    }

    /// How much of its mass was weighed, out of a hundred.
    pub fn weighed_share(&self) -> Result<Dec, Overflow> {
        if self.mass.0.is_positive() {
            self.weighed.0.times(Dec::HUNDRED)?.over(self.mass.0)
        } else {
            Ok(Dec::ZERO)
        }
    }
}

/// The build: what it comes to as it is and bought again, and what it weighs.
pub(super) fn mine(
    book: &Book,
    rows: &[&Part],
    bench: &Bench<'_>,
    (totals, today): (&Totals, &Landed),
    tools: usize,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) -> Result<Mine, Overflow> {
    let counted = |place: &str| {
        jurisdiction
            .place(place)
            .is_some_and(|p| p.counts_in(jurisdiction.ask.basis))
    };
    let empty: Vec<bench::Empty> = bench
        .empty()
        .into_iter()
        .filter(|e| e.need == Need::Required && counted(&e.place))
        .collect();
    let mut mine = by_sum(book, rows, jurisdiction)?;
    let unweighed = rows
        .iter()
        .filter(|row| mine.mass_unknown.contains(&row.name))
        .flat_map(|row| &row.places);
    let unweighed = unweighed.filter_map(|place| jurisdiction.place(place)?.usual);
    let usual: Vec<(Grams, Grams)> = empty
        .iter()
        .filter_map(|e| e.usual)
        .chain(unweighed)
        .collect();
    mine.missing = (
        Grams::total(usual.iter().map(|u| u.0))?,
        Grams::total(usual.iter().map(|u| u.1))?,
    );
    mine.empty = empty.into_iter().map(|e| e.place).collect();
    (mine.spent, mine.to_pay) = (totals.spent.amount(), totals.to_pay.amount());
    mine.tools_left_out = tools;
    mine.replacement = today
        .totals
        .landed()?
        .amount()
        .round_to(jurisdiction.currency().digits(), Mode::HalfUp);
    let (landed, t) = (today.totals.landed()?, &today.totals);
    mine.disputed = today
        .decided_otherwise()?
        .map(|(sum, rows)| (sum.amount(), rows));
    (mine.undisputed, mine.with_disputed) = (
        Some(t.landed_undisputed)
            .filter(|sum| *sum != landed)
            .map(HomeMoney::amount),
        Some(t.landed_with_disputed)
            .filter(|sum| *sum != landed)
            .map(HomeMoney::amount),
    );
    priced(&mut mine, rows)?;
    weighed(&mut mine, book, rows, jurisdiction, cautions)?;
    Ok(mine)
}

/// What the parts add up to, and nothing else yet.
fn by_sum(book: &Book, rows: &[&Part], jurisdiction: &Jurisdiction<'_>) -> Result<Mine, Overflow> {
    let (parts, mass_unknown) = basis::mass_on(rows, jurisdiction.ask.basis, jurisdiction)?;
    let carried = basis::carried(jurisdiction.ask.basis, jurisdiction)?;
    let rider = carried.map_or(Grams::ZERO, |span| span.likely);
    let on = basis::counted(rows, jurisdiction.ask.basis, jurisdiction);
    let expected =
        Doubt::of(&on, book, jurisdiction)?.map(|doubt| -> Result<(Grams, Grams), Overflow> {
            Ok((
                Grams(doubt.expected.plus(rider)?.0.round_to(1, Mode::HalfUp)),
                Grams(root(doubt.variance, 1)),
            ))
        });
    Ok(Mine {
        replacement: Dec::ZERO,
        replacement_unknown: replacement_unknown(rows),
        cost: Dec::ZERO,
        compared: Compared::Replacement,
        by_paid: Vec::new(),
        price_unknown: Vec::new(),
        disputed: None,
        undisputed: None,
        with_disputed: None,
        spent: Dec::ZERO,
        to_pay: Dec::ZERO,
        to_pay_unknown: Vec::new(),
        mass: parts.plus(rider)?,
        scale: None,
        give: (Grams::ZERO, Grams::ZERO),
        weighed: doubt::weighed(&on)?,
        expected: expected.transpose()?,
        carried,
        mass_unknown,
        empty: Vec::new(),
        missing: (Grams::ZERO, Grams::ZERO),
        tools_left_out: 0,
        status: Status::ALONE,
    })
}

/// By what the build is held against bikes: no verdict hangs on a price of nothing.
fn priced(mine: &mut Mine, rows: &[&Part]) -> Result<(), Overflow> {
    let unpriced: Vec<&&Part> = rows
        .iter()
        .filter(|row| mine.replacement_unknown.contains(&row.name))
        .collect();
    let names = |paid: bool| {
        unpriced
            .iter()
            .filter(|row| row.paid.is_some() == paid)
            .map(|row| row.name.clone())
            .collect()
    };
    (mine.by_paid, mine.price_unknown) = (names(true), names(false));
    let open = unpriced.iter().filter(|row| {
        row.paid.is_none() && matches!(row.standing, Standing::ToOrder | Standing::OnOrder)
    });
    mine.to_pay_unknown = open.map(|row| row.name.clone()).collect();
    mine.cost = mine.replacement.plus(paid_instead(rows)?)?;
    mine.compared = match (
        mine.by_paid.is_empty(),
        mine.cost.is_zero() && !unpriced.is_empty(),
    ) {
        (_, true) => Compared::Nothing,
        (false, _) => Compared::Paid,
        (true, _) => Compared::Replacement,
    };
    Ok(())
}

/// The scale goes before the sum.
fn weighed(
    mine: &mut Mine,
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) -> Result<(), Overflow> {
    let Some(scale) = told(on_scale(book, rows, mine.mass, jurisdiction), cautions) else {
        return Ok(());
    };
    let span = scale.mass.mass;
    let carried = scale.carried();
    // What the rider carries is set against the other bike's apart, where the tables added it to both.
    let (low, high) = match carried {
        Some(rider) => (
            rider.likely.minus(rider.low)?,
            rider.high.minus(rider.likely)?,
        ),
        None => (Grams::ZERO, Grams::ZERO),
    };
    mine.give = (
        span.likely.minus(span.low)?.minus(low)?,
        span.high.minus(span.likely)?.minus(high)?,
    );
    mine.mass = span.likely;
    mine.weighed = span.likely.min(scale.read);
    (mine.carried, mine.expected) = (carried, None);
    // Whatever was on the bike lay on the scale.
    mine.mass_unknown.clear();
    mine.scale = Some(scale);
    Ok(())
}
