//! The unknowns of a book before the engine: what the sum answers to each, alone and together, and how well that adds up.

use std::cell::RefCell;
use std::collections::VecDeque;

use super::bends::{refine, slices};
use super::driver::Driver;
use super::outcome::{Checked, Effect, Outcomes};
use super::scene::Scene;
use crate::book::{About, Part};
use crate::estimate::{Curve, Distribution, Group, Point, Slice, Variance};
use crate::text::Problems;
use crate::units::{Currency, Dec, Mode, Overflow};

/// The shares of outcomes that are shown, out of a hundred.
const SHARES: [u32; 5] = [5, 25, 50, 75, 95];
/// Points at which the sum of effects is held against the whole engine.
const DRAWS: u32 = 48;
/// The seed of those points.
const SEED: u64 = 1729;

/// The unknowns before the engine.
pub(super) struct Study<'a> {
    pub(super) scene: &'a Scene<'a>,
    drivers: &'a [Driver],
    pub(super) likely: Dec,
    digits: u32,
    /// The answers found so far, in the order in which they were asked for.
    pub(super) drawn: RefCell<Vec<Answers>>,
    /// Those of another study of the same unknowns: where the answers are alike, they are taken over.
    known: RefCell<VecDeque<Answers>>,
}

/// What an unknown does to the sum at some of its figures, in minor units.
pub(super) type Answers = Vec<(Dec, i64)>;

impl<'a> Study<'a> {
    pub(super) fn new(scene: &'a Scene<'a>, drivers: &'a [Driver]) -> Result<Study<'a>, Problems> {
        let digits = scene.jurisdiction.currency().digits();
        let mut study = Study {
            scene,
            drivers,
            likely: Dec::ZERO,
            digits,
            drawn: RefCell::default(),
            known: RefCell::default(),
        };
        study.likely = study.all(|d| d.likely)?;
        Ok(study)
    }

    /// The same with the answers of another study of the same unknowns at hand.
    pub(super) fn knowing(self, answers: Vec<Answers>) -> Study<'a> {
        Study {
            known: RefCell::new(answers.into()),
            ..self
        }
    }

    /// The figures of a distribution around the likely cost.
    pub(super) fn outcomes(
        &self,
        cost: Dec,
        sum: &Distribution,
        assurance: Dec,
    ) -> Result<Outcomes, Problems> {
        let amount = |percent: Dec| {
            sum.at(percent)
                .beside(self.likely, self.digits)
                .map_err(Problems::from)
        };
        Ok(Outcomes {
            cost,
            likely: self.likely,
            quantiles: SHARES
                .into_iter()
                .map(|share| Ok((share, amount(Dec::from(share))?)))
                .collect::<Result<_, Problems>>()?,
            assured: (assurance, amount(assurance)?),
            within_budget: match self.scene.jurisdiction.ask.budget {
                Some(budget) => Some(sum.chance_within(self.minor(budget.minus(self.likely)?))),
                None => None,
            },
        })
    }

    fn lasting(&self) -> impl Iterator<Item = &'a Driver> {
        self.drivers.iter().filter(|d| d.chance.is_none())
    }

    /// The whole with every unknown at one of its figures; an event happens only at most.
    pub(super) fn all(&self, figure: impl Fn(&Driver) -> Dec) -> Result<Dec, Problems> {
        let mut figures: Vec<(&Driver, Dec)> = self.lasting().map(|d| (d, figure(d))).collect();
        let high = self
            .drivers
            .iter()
            .filter(|d| d.chance.is_some() && figure(d) == d.high && d.high > d.likely);
        figures.extend(high.map(|d| (d, d.high)));
        self.scene.sum(&self.scene.rows(), &figures)
    }

    /// The rows that an unknown touches, with all unknowns likely but those given.
    fn with(&self, rows: &[&Part], given: &[(&Driver, Dec)]) -> Result<Dec, Problems> {
        let named = |d: &Driver| given.iter().any(|(other, _)| other.id() == d.id());
        let engine = |d: &&Driver| !matches!(d.about, About::Handling);
        let rest = self.lasting().filter(|d| engine(d) && !named(d));
        let rest = rest.map(|d| (d, d.likely));
        let figures: Vec<(&Driver, Dec)> = rest.chain(given.iter().copied()).collect();
        self.scene.sum(rows, &figures)
    }

    pub(super) fn minor(&self, amount: Dec) -> i64 {
        let units = amount
            .round_to(self.digits, Mode::HalfUp)
            .in_units(self.digits)
            .unwrap_or(0);
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
            let step = high
                .minus(low)
                .and_then(|wide| wide.over(Dec::from(4_u32)))?;
            let mut xs: Vec<Dec> = vec![low, high];
            for quarter in 1..4_u32 {
                xs.push(
                    step.times(Dec::from(quarter))
                        .and_then(|more| low.plus(more))?
                        .round_to(8, Mode::HalfUp),
                );
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
        Ok(Curve::new(
            driver.spread.clone(),
            points.into_iter().map(|(x, y)| Point::new(x, y)).collect(),
        ))
    }

    /// Unknowns by the currency their answers hang on, sliced by that currency's exchange.
    pub(super) fn groups(&self) -> Result<Vec<Group>, Problems> {
        let mut groups = Vec::new();
        for currency in self.currencies() {
            let (first, others) = self.members(currency);
            let mut group = Group {
                first: first.map(|d| self.curve(d, &[])).transpose()?,
                ..Group::default()
            };
            for (to, middle) in slices(first) {
                let beside: Vec<(&Driver, Dec)> = first.into_iter().map(|d| (d, middle)).collect();
                let curves = others
                    .iter()
                    .map(|d| self.curve(d, &beside))
                    .collect::<Result<Vec<_>, _>>()?;
                group.slices.push(Slice { to, others: curves });
            }
            groups.push(group);
        }
        let events = self.drivers.iter().filter_map(|d| Some((d.chance?, d)));
        let curve = |d: &Driver| {
            let points = [d.low, d.likely, d.high].map(|x| Point::new(x, self.minor(x)));
            Curve::new(d.spread.clone(), points.to_vec())
        };
        groups.push(Group {
            events: events.map(|(chance, d)| (chance, curve(d))).collect(),
            ..Group::default()
        });
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
        (
            first,
            here()
                .filter(|d| first.is_none_or(|f| f.id() != d.id()))
                .collect(),
        )
    }

    /// What each unknown does alone, the largest effect first, with its share of the spread where the groups are at hand.
    pub(super) fn effects(&self, disputed: Option<Effect>) -> Result<Vec<Effect>, Problems> {
        let mut found = Vec::new();
        for driver in self.drivers {
            let rows = self.scene.touched(driver);
            let at = |x: Dec| -> Result<Dec, Problems> {
                let likely = if driver.chance.is_some() {
                    Dec::ZERO
                } else {
                    self.with(&rows, &[(driver, driver.likely)])?
                };
                self.with(&rows, &[(driver, x)])?
                    .minus(likely)
                    .and_then(|move_of| self.likely.plus(move_of))
                    .map_err(Problems::from)
            };
            let low = if driver.chance.is_some() {
                self.likely
            } else {
                at(driver.low)?
            };
            found.push(Effect {
                driver: driver.clone(),
                at_low: low,
                at_high: at(driver.high)?,
                share: None,
            });
        }
        found.extend(disputed);
        let wide = |e: Effect| Ok((e.at_high.minus(e.at_low)?.abs(), e));
        let mut found: Vec<(Dec, Effect)> = found
            .into_iter()
            .map(wide)
            .collect::<Result<_, Overflow>>()?;
        found.sort_by(|(a, one), (b, other)| {
            b.cmp(a)
                .then_with(|| one.driver.id().cmp(&other.driver.id()))
        });
        Ok(found.into_iter().map(|(_, effect)| effect).collect())
    }

    /// How much each unknown spreads the sum on its own; the groups are those of [`Study::groups`].
    pub(super) fn variances(&self, groups: &[Group]) -> Vec<(String, Variance)> {
        let mut ids: Vec<String> = Vec::new();
        for currency in self.currencies() {
            let (first, others) = self.members(currency);
            ids.extend(first.into_iter().chain(others).map(Driver::id));
        }
        ids.extend(
            self.drivers
                .iter()
                .filter(|d| d.chance.is_some())
                .map(Driver::id),
        );
        ids.into_iter()
            .zip(groups.iter().flat_map(Group::variances))
            .collect()
    }

    /// Holds the sum of effects against the whole engine at drawn points.
    pub(super) fn check(&self, groups: &[Group], sum: &Distribution) -> Result<Checked, Problems> {
        let mut draw = SEED;
        let mut share = || {
            draw = draw
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            u32::try_from((draw >> 33) % 10_000).unwrap_or(5_000)
        };
        let (mut total, mut largest) = (Dec::ZERO, Dec::ZERO);
        for _ in 0..DRAWS {
            let (mut figures, mut predicted) = (Vec::new(), 0_i64);
            for (currency, group) in self.currencies().into_iter().zip(groups) {
                let (first, others) = self.members(currency);
                let mut place =
                    |d: &'a Driver| (d, d.spread.point(share()).max(d.ends.0).min(d.ends.1));
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
        Ok(Checked {
            draws: DRAWS,
            seed: SEED,
            mean,
            largest,
            step,
        })
    }
}
