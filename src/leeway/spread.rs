//! How far a landed cost can move, what each unknown does alone, and how what is in dispute is joined with it.

use super::asked::{Asked, asked, chance_of_disputed};
use super::driver::Finder;
use super::outcome::{Checked, Effect, Outcomes};
use super::scene::{Scene, told_at_door};
use super::study::Study;
use crate::book::{Book, Part, Remedies};
use crate::estimate::{Distribution, Variance, in_the_hundred};
use crate::landed::{Caution, Disputed, Jurisdiction, lacking};
use crate::text::Problems;
use crate::units::Dec;

/// How far a landed cost can move. Where rows are disputed and no chance is told for them, the figures count them and stand beside
/// those without them; with a chance they are of both, joined by it.
#[derive(Debug, Clone)]
pub struct Leeway {
    /// The cost as `cost` says it.
    pub cost: Dec,
    /// The cost with every unknown at its likely figure.
    pub(crate) likely: Dec,
    /// What is spent already.
    pub(crate) spent: Dec,
    /// Each unknown alone, the largest effect first.
    pub(crate) effects: Vec<Effect>,
    /// Everything at its low figure.
    pub(crate) all_low: Dec,
    /// Everything at its high figure.
    pub(crate) all_high: Dec,
    /// The share in percent, and the cost that this share of outcomes stays below.
    pub quantiles: Vec<(u32, Dec)>,
    /// The assurance asked for, and the cost that goes with it.
    pub assured: (Dec, Dec),
    /// The chance out of a hundred of staying inside the budget.
    pub within_budget: Option<Dec>,
    /// Charges that may not be asked for.
    pub(crate) asked: Vec<Asked>,
    /// The range without what is in dispute, where the cost counts it and that makes a difference.
    pub undisputed: Option<Outcomes>,
    /// The range with anti-dumping, where that is only shown and makes a difference.
    pub(crate) with_disputed: Option<Outcomes>,
    /// Whether the cost counts what is in dispute; not where anti-dumping is only shown.
    pub(crate) disputed_counted: bool,
    /// The rows in dispute.
    pub(crate) disputed: Vec<Disputed>,
    /// The chance out of a hundred that what is disputed is charged, where the book tells it and it makes a difference.
    pub disputed_chance: Option<Dec>,
    /// How the method was held against the engine; none where nothing is unknown.
    pub(crate) checked: Option<Checked>,
    /// What the cost, and with it every figure, lacks.
    pub(crate) cautions: Vec<Caution>,
    /// Parts without a price, which no figure counts.
    pub(crate) open: Vec<String>,
    /// Parts in hand of which it is not known what was paid; no figure counts them either.
    pub(crate) paid_unknown: Vec<String>,
}

/// Calculates how far the landed cost can move. `days` are days of publication to the settlement of the card, `assurance`
/// is out of a hundred.
pub fn leeway(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    days: u32,
    assurance: Dec,
) -> Result<Leeway, Problems> {
    let rows: Vec<&Part> = book.paid_for().collect();
    let landed = crate::landed::cost_rows(book, &rows, jurisdiction)?;
    let cost = landed.totals.landed()?;
    let drivers = Finder {
        book,
        jurisdiction,
        days,
    }
    .find(&landed.bills)?;
    let asked = asked(book, &rows, jurisdiction, cost.amount(), &landed.bills)?;
    let counted = jurisdiction.ask.remedies != Remedies::Show;
    let told = told_at_door(&landed.bills)?;
    let scene = Scene {
        book,
        jurisdiction,
        otherwise: false,
        told: &told,
    };
    let study = Study::new(&scene, &drivers)?;
    let groups = study.groups()?;
    let sum = Distribution::of_groups(&groups);
    let other = Scene {
        otherwise: true,
        ..scene
    };
    let mut variances = study.variances(&groups);
    let mut joined = Joined {
        sum: sum.clone(),
        ends: (study.all(|d| d.low)?, study.all(|d| d.high)?),
        chance: None,
        disputed: None,
        apart: None,
    };
    let decided = other.sum(&rows, &[])?;
    if decided != cost.amount() {
        let own = Study::new(&other, &drivers)?.knowing(study.drawn.take());
        let apart = Distribution::of_groups(&own.groups()?);
        if let Some(told) = chance_of_disputed(book, decided, counted, &asked) {
            variances.push(joined.with(&told, counted, (&study, &sum), (&own, &apart))?);
        }
        joined.apart = Some(own.outcomes(decided, &apart, assurance)?);
    }
    let (undisputed, with_disputed) = if counted {
        (joined.apart, None)
    } else {
        (None, joined.apart)
    };
    let found = study.outcomes(cost.amount(), &joined.sum, assurance)?;
    let mut effects = study.effects(joined.disputed)?;
    share_out(&mut effects, &variances)?;
    Ok(Leeway {
        cost: cost.amount(),
        likely: found.likely,
        spent: landed.totals.spent.amount(),
        effects,
        all_low: joined.ends.0,
        all_high: joined.ends.1,
        quantiles: found.quantiles,
        assured: found.assured,
        within_budget: found.within_budget,
        asked,
        undisputed,
        with_disputed,
        disputed_counted: counted,
        disputed: landed
            .bills
            .iter()
            .flat_map(|bill| &bill.disputed)
            .cloned()
            .collect(),
        disputed_chance: joined.chance,
        cautions: lacking(&landed.cautions).cloned().collect(),
        open: landed.open,
        paid_unknown: landed.totals.paid_unknown,
        checked: if drivers.is_empty() {
            None
        } else {
            Some(study.check(&groups, &sum)?)
        },
    })
}

/// The range with what is in dispute as it is counted, and, where a chance is told for that, joined with the other.
struct Joined {
    sum: Distribution,
    /// Everything at its low figure, and at its high one.
    ends: (Dec, Dec),
    chance: Option<Dec>,
    /// What is in dispute as an unknown of its own.
    disputed: Option<Effect>,
    /// The range with what is in dispute decided otherwise.
    apart: Option<Outcomes>,
}

impl Joined {
    /// Joins both ranges by the chance that is told, and gives what that adds to the spread.
    fn with(
        &mut self,
        told: &(Dec, String),
        counted: bool,
        (study, sum): (&Study<'_>, &Distribution),
        (own, apart): (&Study<'_>, &Distribution),
    ) -> Result<(String, Variance), Problems> {
        let chance = told.0;
        let jurisdiction = study.scene.jurisdiction;
        let effect = Effect::of_disputed(told, counted, study.likely, own.likely, jurisdiction)?;
        let further = study.minor(own.likely.minus(study.likely)?);
        // The chance is of being asked for; the cost counts what is in dispute, or only shows it.
        let of_cost = if counted {
            chance
        } else {
            Dec::HUNDRED.minus(chance)?
        };
        self.sum = Distribution::either(sum, of_cost, apart, further);
        self.ends = (
            self.ends.0.min(own.all(|d| d.low)?),
            self.ends.1.max(own.all(|d| d.high)?),
        );
        let variance = (effect.driver.id(), Variance::of_either(chance, further));
        (self.chance, self.disputed) = (Some(chance), Some(effect));
        Ok(variance)
    }
}

/// Tells each effect its share of the spread.
fn share_out(effects: &mut [Effect], variances: &[(String, Variance)]) -> Result<(), Problems> {
    let shares = in_the_hundred(
        &variances
            .iter()
            .map(|(_, variance)| *variance)
            .collect::<Vec<_>>(),
    )?;
    for ((id, _), share) in variances.iter().zip(shares) {
        effects
            .iter_mut()
            .filter(|effect| effect.driver.id() == *id)
            .for_each(|effect| effect.share = Some(share));
    }
    Ok(())
}

impl Leeway {
    /// The range with what is in dispute decided the other way.
    pub(crate) fn decided_otherwise(&self) -> Option<&Outcomes> {
        self.undisputed.as_ref().or(self.with_disputed.as_ref())
    }
}
