//! The effect of each unknown alone, all low and all high, and the shares of the whole's outcomes.

use std::cell::RefCell;
use std::collections::{BinaryHeap, VecDeque};

use super::asked::{Asked, asked, chance_of_disputed};
use super::driver::{Driver, Finder};
use super::scene::{Scene, told_at_door};
use crate::book::{About, Book, Part, Remedies};
use crate::estimate::{Curve, Group, Point, Slice, Sum};
use crate::landed::{Bill, Caution, Desk, Disputed, lacking};
use crate::text::Problems;
use crate::units::{Currency, Dec, Mode};

/// The shares of outcomes that are shown, in the hundred.
const SHARES: [u32; 5] = [5, 25, 50, 75, 95];
/// Slices of an exchange rate's range, of equal chance.
const SLICES: u32 = 8;
/// Points at which the sum of effects is held against the whole engine.
const DRAWS: u32 = 48;
/// The seed of those points.
pub(super) const SEED: u64 = 1729;

/// What one unknown does alone.
#[derive(Debug, Clone)]
pub struct Effect {
    /// The unknown.
    pub driver: Driver,
    /// The landed cost with it at its low figure, all others likely.
    pub at_low: Dec,
    /// And at its high figure.
    pub at_high: Dec,
}

/// How the method was held against the engine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Checked {
    /// At how many points, drawn by which seed.
    pub draws: u32,
    /// By which seed.
    pub seed: u64,
    /// The difference on average, in the destination's money.
    pub mean: Dec,
    /// The largest difference.
    pub largest: Dec,
    /// The step of the grid.
    pub step: Dec,
}

/// The range of a landed cost.
#[derive(Debug, Clone)]
pub struct Outcomes {
    /// The cost with nothing moved.
    pub cost: Dec,
    /// The cost with every unknown at its likely figure.
    pub likely: Dec,
    /// The share in the hundred, and the cost that so many outcomes stay below.
    pub quantiles: Vec<(u32, Dec)>,
    /// The assurance asked for, and the cost that goes with it.
    pub assured: (Dec, Dec),
    /// The chance in the hundred of staying inside the budget.
    pub within_budget: Option<Dec>,
}

/// How far a landed cost can move. Where rows are disputed and no chance is told for them, the figures count them and stand beside
/// those without them; with a chance they are of both, joined by it.
#[derive(Debug, Clone)]
pub struct Leeway {
    /// The cost as `cost` says it.
    pub cost: Dec,
    /// The cost with every unknown at its likely figure.
    pub likely: Dec,
    /// What is spent already.
    pub spent: Dec,
    /// Each unknown alone, the largest effect first.
    pub effects: Vec<Effect>,
    /// Everything at its low figure.
    pub all_low: Dec,
    /// Everything at its high figure.
    pub all_high: Dec,
    /// The share in the hundred, and the cost that so many outcomes stay below.
    pub quantiles: Vec<(u32, Dec)>,
    /// The assurance asked for, and the cost that goes with it.
    pub assured: (Dec, Dec),
    /// The chance in the hundred of staying inside the budget.
    pub within_budget: Option<Dec>,
    /// Charges that may not be asked for.
    pub asked: Vec<Asked>,
    /// The range without what is in dispute, where the cost counts it and that makes a difference.
    pub undisputed: Option<Outcomes>,
    /// The range with anti-dumping, where that is only shown and makes a difference.
    pub with_disputed: Option<Outcomes>,
    /// Whether the cost counts what is in dispute; not where anti-dumping is only shown.
    pub disputed_counted: bool,
    /// The rows in dispute.
    pub disputed: Vec<Disputed>,
    /// The chance in the hundred that what is disputed is charged, where the book tells it and it makes a difference.
    pub disputed_chance: Option<Dec>,
    /// How the method was held against the engine; none where nothing is unknown.
    pub checked: Option<Checked>,
    /// What the cost, and with it every figure, lacks.
    pub cautions: Vec<Caution>,
    /// Parts without a price, which no figure counts.
    pub open: Vec<String>,
    /// Parts in hand of which it is not known what was paid; no figure counts them either.
    pub paid_unknown: Vec<String>,
}

/// Reckons how far the landed cost can move. `days` are days of publication to the settlement of the card, `assurance`
/// is in the hundred.
pub fn leeway(book: &Book, desk: &Desk<'_>, days: u32, assurance: Dec) -> Result<Leeway, Problems> {
    let rows: Vec<&Part> = book.paid_for().collect();
    let landed = crate::landed::cost_rows(book, &rows, desk)?;
    let cost = landed.totals.landed()?;
    let drivers = Finder { book, desk, days }.find(&landed.bills)?;
    let asked = asked(book, &rows, desk, cost, &landed.bills)?;
    let counted = desk.ask.remedies != Remedies::Show;
    let told = told_at_door(&landed.bills)?;
    let scene = Scene { book, desk, otherwise: false, told: &told };
    let study = Study::new(&scene, &drivers)?;
    let groups = study.groups()?;
    let sum = Sum::of_groups(&groups);
    let other = Scene { otherwise: true, ..scene };
    let decided = Some(other.sum(&rows, &[])?).filter(|decided| *decided != cost);
    let mut ends = (study.all(|d| d.low)?, study.all(|d| d.high)?);
    let (mut joined, mut disputed_chance, mut apart_from) = (sum.clone(), None, None);
    if let Some(decided) = decided {
        let own = Study { known: RefCell::new(study.drawn.take().into()), ..Study::new(&other, &drivers)? };
        let apart = Sum::of_groups(&own.groups()?);
        disputed_chance = chance_of_disputed(book, decided, counted, &asked);
        if let Some(chance) = disputed_chance {
            // The chance is of being asked for; the cost counts what is in dispute, or only shows it.
            let of_cost = if counted { chance } else { Dec::HUNDRED.minus(chance)? };
            joined = Sum::either(&sum, of_cost, &apart, study.minor(own.likely.minus(study.likely)?));
            ends = (ends.0.min(own.all(|d| d.low)?), ends.1.max(own.all(|d| d.high)?));
        }
        apart_from = Some(own.outcomes(decided, &apart, assurance)?);
    }
    let (undisputed, with_disputed) = if counted { (apart_from, None) } else { (None, apart_from) };
    let found = study.outcomes(cost, &joined, assurance)?;
    Ok(Leeway {
        cost,
        likely: found.likely,
        spent: landed.totals.spent,
        effects: study.effects()?,
        all_low: ends.0,
        all_high: ends.1,
        quantiles: found.quantiles,
        assured: found.assured,
        within_budget: found.within_budget,
        asked,
        undisputed,
        with_disputed,
        disputed_counted: counted,
        disputed: landed.bills.iter().flat_map(|bill| &bill.disputed).cloned().collect(),
        disputed_chance,
        cautions: lacking(&landed.cautions).cloned().collect(),
        open: landed.open,
        paid_unknown: landed.totals.paid_unknown,
        checked: if drivers.is_empty() { None } else { Some(study.check(&groups, &sum)?) },
    })
}

/// The effects alone, the largest first: what a picture needs, without the shares of outcomes.
pub fn effects(book: &Book, desk: &Desk<'_>, bills: &[Bill], days: u32) -> Result<Vec<Effect>, Problems> {
    let drivers = Finder { book, desk, days }.find(bills)?;
    let scene = Scene { book, desk, otherwise: false, told: &[] };
    Study::new(&scene, &drivers)?.effects()
}

/// The unknowns before the engine.
struct Study<'a> {
    scene: &'a Scene<'a>,
    drivers: &'a [Driver],
    likely: Dec,
    digits: u32,
    /// The answers found so far, in the order in which they were asked for.
    drawn: RefCell<Vec<Answers>>,
    /// Those of another study of the same unknowns: where the answers are alike, they are taken over.
    known: RefCell<VecDeque<Answers>>,
}

/// What an unknown does to the sum at some of its figures, in minor units.
type Answers = Vec<(Dec, i64)>;

impl<'a> Study<'a> {
    fn new(scene: &'a Scene<'a>, drivers: &'a [Driver]) -> Result<Study<'a>, Problems> {
        let digits = scene.desk.currency().digits();
        let mut study = Study { scene, drivers, likely: Dec::ZERO, digits, drawn: RefCell::default(), known: RefCell::default() };
        study.likely = study.all(|d| d.likely)?;
        Ok(study)
    }

    /// The figures of a distribution around the likely cost.
    fn outcomes(&self, cost: Dec, sum: &Sum, assurance: Dec) -> Result<Outcomes, Problems> {
        let amount = |percent: Dec| sum.at(percent).beside(self.likely, self.digits).map_err(Problems::from);
        Ok(Outcomes {
            cost,
            likely: self.likely,
            quantiles: SHARES.into_iter().map(|share| Ok((share, amount(Dec::from(share))?))).collect::<Result<_, Problems>>()?,
            assured: (assurance, amount(assurance)?),
            within_budget: match self.scene.desk.ask.budget {
                Some(budget) => Some(sum.chance_within(self.minor(budget.minus(self.likely)?))),
                None => None,
            },
        })
    }

    fn lasting(&self) -> impl Iterator<Item = &'a Driver> {
        self.drivers.iter().filter(|d| d.chance.is_none())
    }

    /// The whole with every unknown at one of its figures; an event happens only at the most.
    fn all(&self, figure: impl Fn(&Driver) -> Dec) -> Result<Dec, Problems> {
        let mut figures: Vec<(&Driver, Dec)> = self.lasting().map(|d| (d, figure(d))).collect();
        let high = self.drivers.iter().filter(|d| d.chance.is_some() && figure(d) == d.high && d.high > d.likely);
        figures.extend(high.map(|d| (d, d.high)));
        self.scene.sum(&self.scene.rows(), &figures)
    }

    /// The rows that an unknown touches, with all unknowns likely but those given.
    fn with(&self, rows: &[&Part], given: &[(&Driver, Dec)]) -> Result<Dec, Problems> {
        let named = |d: &Driver| given.iter().any(|(other, _)| other.id() == d.id());
        let engine = |d: &&Driver| !matches!(d.about, About::Handling);
        let rest = self.lasting().filter(engine).filter(|d| !named(d)).map(|d| (d, d.likely));
        let figures: Vec<(&Driver, Dec)> = rest.chain(given.iter().copied()).collect();
        self.scene.sum(rows, &figures)
    }

    fn minor(&self, amount: Dec) -> i64 {
        let units = amount.round_to(self.digits, Mode::HalfUp).in_units(self.digits).unwrap_or(0);
        i64::try_from(units).unwrap_or(i64::MAX)
    }

    /// What the sum answers to an unknown, finer where it is not straight.
    fn curve(&self, driver: &Driver, beside: &[(&Driver, Dec)]) -> Result<Curve, Problems> {
        let rows = self.scene.touched(driver);
        let at = |x: Dec| {
            let given: Vec<(&Driver, Dec)> = beside.iter().copied().chain([(driver, x)]).collect();
            self.with(&rows, &given)
        };
        let likely = at(driver.likely)?;
        let answer = |x: Dec| -> Result<i64, Problems> { Ok(self.minor(at(x)?.minus(likely)?)) };
        let (low, high) = driver.ends;
        let mut points = vec![(driver.likely, 0)];
        if !driver.spread.is_constant() {
            let step = high.minus(low).and_then(|wide| wide.over(Dec::from(4_u32)))?;
            let mut xs: Vec<Dec> = vec![low, high];
            for quarter in 1..4_u32 {
                xs.push(step.times(Dec::from(quarter)).and_then(|more| low.plus(more))?.round_to(8, Mode::HalfUp));
            }
            xs.retain(|x| *x != driver.likely);
            for x in xs {
                points.push((x, answer(x)?));
            }
            points.sort_unstable();
            // A parcel that nothing in dispute touches answers alike, and is not run again.
            let known = self.known.borrow_mut().pop_front();
            match known.filter(|known| points.iter().all(|point| known.contains(point))) {
                Some(known) => points = known,
                None => refine(&mut points, &answer)?,
            }
            points.sort_unstable();
            self.drawn.borrow_mut().push(points.clone());
        }
        Ok(Curve::new(driver.spread.clone(), points.into_iter().map(|(x, y)| Point::new(x, y)).collect()))
    }

    /// Unknowns by the currency their answers hang on, sliced by that currency's exchange.
    fn groups(&self) -> Result<Vec<Group>, Problems> {
        let mut groups = Vec::new();
        for currency in self.currencies() {
            let (first, others) = self.members(currency);
            let mut group = Group { first: first.map(|d| self.curve(d, &[])).transpose()?, ..Group::default() };
            for (to, middle) in slices(first) {
                let beside: Vec<(&Driver, Dec)> = first.into_iter().map(|d| (d, middle)).collect();
                let curves = others.iter().map(|d| self.curve(d, &beside)).collect::<Result<Vec<_>, _>>()?;
                group.slices.push(Slice { to, others: curves });
            }
            groups.push(group);
        }
        let events = self.drivers.iter().filter_map(|d| Some((d.chance?, d)));
        let curve = |d: &Driver| {
            let points = [d.low, d.likely, d.high].map(|x| Point::new(x, self.minor(x)));
            Curve::new(d.spread.clone(), points.to_vec())
        };
        groups.push(Group { events: events.map(|(chance, d)| (chance, curve(d))).collect(), ..Group::default() });
        Ok(groups)
    }

    /// The currencies that unknowns hang on, and none for the rest.
    fn currencies(&self) -> Vec<Option<Currency>> {
        let mut found: Vec<Option<Currency>> = self.lasting().map(|d| d.currency).collect();
        found.sort();
        found.dedup();
        found
    }

    fn members(&self, currency: Option<Currency>) -> (Option<&'a Driver>, Vec<&'a Driver>) {
        let here = || self.lasting().filter(move |d| d.currency == currency);
        let first = here().find(|d| d.about == About::Exchange && currency.is_some());
        (first, here().filter(|d| first.is_none_or(|f| f.id() != d.id())).collect())
    }

    fn effects(&self) -> Result<Vec<Effect>, Problems> {
        let mut found = Vec::new();
        for driver in self.drivers {
            let rows = self.scene.touched(driver);
            let at = |x: Dec| -> Result<Dec, Problems> {
                let likely = if driver.chance.is_some() { Dec::ZERO } else { self.with(&rows, &[(driver, driver.likely)])? };
                self.with(&rows, &[(driver, x)])?.minus(likely).and_then(|move_of| self.likely.plus(move_of)).map_err(Problems::from)
            };
            let low = if driver.chance.is_some() { self.likely } else { at(driver.low)? };
            found.push(Effect { driver: driver.clone(), at_low: low, at_high: at(driver.high)? });
        }
        let wide = |e: &Effect| e.at_high.minus(e.at_low).unwrap_or_default().abs();
        found.sort_by(|a, b| wide(b).cmp(&wide(a)).then_with(|| a.driver.id().cmp(&b.driver.id())));
        Ok(found)
    }

    /// Holds the sum of effects against the whole engine at drawn points.
    fn check(&self, groups: &[Group], sum: &Sum) -> Result<Checked, Problems> {
        let mut draw = SEED;
        let mut share = || {
            draw = draw.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            u32::try_from((draw >> 33) % 10_000).unwrap_or(5_000)
        };
        let (mut total, mut largest) = (Dec::ZERO, Dec::ZERO);
        for _ in 0..DRAWS {
            let (mut figures, mut predicted) = (Vec::new(), 0_i64);
            for (currency, group) in self.currencies().into_iter().zip(groups) {
                let (first, others) = self.members(currency);
                let mut place = |d: &'a Driver| (d, d.spread.point(share()).max(d.ends.0).min(d.ends.1));
                let first = first.map(&mut place);
                let others: Vec<(&Driver, Dec)> = others.into_iter().map(place).collect();
                let xs: Vec<Dec> = others.iter().map(|(_, x)| *x).collect();
                predicted = predicted.saturating_add(group.answer(first.map(|(_, x)| x), &xs));
                figures.extend(first.into_iter().chain(others));
            }
            let engine = self.scene.sum(&self.scene.rows(), &figures)?;
            let expected = self.likely.plus(Dec::new(predicted, self.digits))?;
            let off = engine.minus(expected)?.abs();
            total = total.plus(off)?;
            largest = largest.max(off);
        }
        let mean = total.over(Dec::from(DRAWS))?;
        let step = sum.step().beside(Dec::ZERO, self.digits)?;
        Ok(Checked { draws: DRAWS, seed: SEED, mean, largest, step })
    }
}

/// A stretch of an answer between two points, with what the answer is in its middle and by how much it bends there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Stretch {
    bend: i64,
    one: (Dec, i64),
    middle: (Dec, i64),
    other: (Dec, i64),
    /// How often it may still be halved.
    depth: u32,
}

/// Halves the stretches of an answer, the one that bends most first, until it is straight within two minor units, the
/// stretches are as narrow as matters, or there are points enough. A law that rounds to whole units answers in thousands of small
/// steps: after the large ones they lie below the step of the grid on which the answers are added.
fn refine(points: &mut Vec<(Dec, i64)>, answer: &impl Fn(Dec) -> Result<i64, Problems>) -> Result<(), Problems> {
    const STRAIGHT: i64 = 4;
    const HALVINGS: u32 = 12;
    const POINTS: usize = 64;
    let stretch = |one: (Dec, i64), other: (Dec, i64), depth: u32| -> Result<Option<Stretch>, Problems> {
        let middle = one.0.plus(other.0).and_then(|both| both.over(Dec::from(2_u32)))?.round_to(8, Mode::HalfUp);
        if depth == 0 || middle <= one.0 || middle >= other.0 {
            return Ok(None);
        }
        let y = answer(middle)?;
        let bend = y.saturating_mul(2).saturating_sub(one.1.saturating_add(other.1)).saturating_abs();
        Ok((bend > STRAIGHT).then_some(Stretch { bend, one, middle: (middle, y), other, depth }))
    };
    let mut bent = BinaryHeap::new();
    for pair in points.clone().windows(2) {
        if let [one, other] = pair {
            bent.extend(stretch(*one, *other, HALVINGS)?);
        }
    }
    while let Some(widest) = bent.pop() {
        points.push(widest.middle);
        if points.len() >= POINTS {
            break;
        }
        bent.extend(stretch(widest.one, widest.middle, widest.depth - 1)?);
        bent.extend(stretch(widest.middle, widest.other, widest.depth - 1)?);
    }
    Ok(())
}

/// The ends and the middles of slices of equal chance; one slice where nothing is sliced.
fn slices(first: Option<&Driver>) -> Vec<(Option<Dec>, Dec)> {
    let Some(first) = first.filter(|d| !d.spread.is_constant()) else {
        return vec![(None, first.map_or(Dec::ZERO, |d| d.likely))];
    };
    let at = |eighths: u32| first.spread.point(eighths * 10_000 / SLICES / 2);
    (0..SLICES).map(|slice| ((slice + 1 < SLICES).then(|| at(2 * slice + 2)), at(2 * slice + 1))).collect()
}
