//! Plans beside what `cost` says: of every choice of small books, of changed plans of larger ones, and of every point of a frontier.
//!
//! A run of `cargo test` looks at a share, from another place with `LANDWAITER_SEED`; `LANDWAITER_WHOLE=1` makes it all.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use super::books::{self, Size};
use super::desk::{Costed, Desk, tenths};
use super::drawn::{FREIGHT, drawn};
use super::{DESTINATIONS, size};
use crate::Question;
use crate::abroad;
use crate::book::Book;
use crate::landed::Jurisdiction;
use crate::made::{self, Dice};
use crate::plan::{Near, Patient, Planned, Plans, Side, Stopped, Wishes, plan};
use crate::small;
use crate::tables::Tables;
use crate::text::draw;
use crate::units::{Dec, Grams};

/// Small books in a whole run and in a short one.
const BOOKS: (u64, u64) = (500, 2);

/// The built-in tables with the schedules of drawn books.
fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| abroad::tables(&[("freight.csv", FREIGHT)]))
}

fn planned(book: &Book, tables: &Tables, ask: &Question, wishes: &Wishes) -> Planned {
    let jurisdiction = Jurisdiction::open(tables, ask).unwrap();
    plan(book, &jurisdiction, wishes, &Patient)
        .unwrap_or_else(|problems| panic!("{}", draw(&problems, false)))
}

/// What a book is asked beside its wishes.
#[derive(Debug, Clone, Copy, Default)]
struct Limits {
    budget: Option<Dec>,
    mass: Option<i64>,
}

impl Limits {
    fn hold(self, one: &Costed) -> bool {
        self.in_budget(one) && self.in_mass(one)
    }

    fn in_budget(self, one: &Costed) -> bool {
        self.budget.is_none_or(|budget| one.landed <= budget)
    }

    fn in_mass(self, one: &Costed) -> bool {
        self.mass.is_none_or(|mass| one.mass <= mass)
    }

    fn ask(self, book: &Book) -> Question {
        let mut ask = made::ask(book);
        ask.budget = self.budget;
        ask.max_mass = self.mass.map(|mass| Grams(Dec::new(mass, 1)));
        ask
    }
}

fn cheapest<'c>(all: impl Iterator<Item = &'c Costed>) -> Option<Costed> {
    all.min_by_key(|one| (one.landed, one.mass)).copied()
}

fn lightest<'c>(all: impl Iterator<Item = &'c Costed>) -> Option<Costed> {
    all.min_by_key(|one| (one.mass, one.landed)).copied()
}

/// Those that no other beats in both, by ascending mass.
fn frontier(all: &[Costed]) -> Vec<(Dec, i64)> {
    let mut by_mass: Vec<&Costed> = all.iter().collect();
    by_mass.sort_by_key(|one| (one.mass, one.landed));
    let mut front: Vec<(Dec, i64)> = Vec::new();
    for one in by_mass {
        if front.last().is_none_or(|last| one.landed < last.0) {
            front.push((one.landed, one.mass));
        }
    }
    front
}

/// What the answer to a question must be, out of all choices.
fn expected(all: &[Costed], wishes: &Wishes, limits: Limits) -> Vec<(Dec, i64)> {
    if wishes.frontier {
        let within = |(landed, mass): &(Dec, i64)| {
            limits.budget.is_none_or(|budget| *landed <= budget)
                && limits.mass.is_none_or(|most| *mass <= most)
        };
        return frontier(all).into_iter().filter(within).collect();
    }
    let within = all.iter().filter(|one| limits.hold(one));
    let light = limits.budget.is_some() && (limits.mass.is_none() || wishes.lightest);
    let best = if light {
        lightest(within)
    } else {
        cheapest(within)
    };
    best.map(|one| (one.landed, one.mass)).into_iter().collect()
}

fn points(plans: &Plans) -> Vec<(Dec, i64)> {
    let point = |plan: &crate::plan::Plan| (plan.landed, tenths(plan.mass));
    plans.plans.iter().map(point).collect()
}

/// The plans that come nearest to limits are the nearest of all choices.
fn nearest_hold(near: &[Near], all: &[Costed], limits: Limits, about: &str) {
    for one in near {
        let best = match one.side {
            Side::WithinMass => cheapest(all.iter().filter(|one| limits.in_mass(one))),
            Side::Lightest => lightest(all.iter()),
            Side::WithinBudget => lightest(all.iter().filter(|one| limits.in_budget(one))),
            Side::Cheapest => cheapest(all.iter()),
        };
        let found = (one.plan.landed, tenths(one.plan.mass));
        assert_eq!(
            best.map(|best| (best.landed, best.mass)),
            Some(found),
            "{about}: {one:?}"
        );
    }
}

/// Limits of a book: none, on a choice, beside it, or below all of them.
fn limits(all: &[Costed], dice: &mut Dice) -> (Limits, &'static str) {
    let mut of = |figures: Vec<i64>| {
        let least = figures.iter().min().copied().unwrap_or(1_000);
        let drawn = figures.get(dice.below(figures.len().max(1) as u64) as usize);
        let drawn = drawn.copied().unwrap_or(least);
        match dice.below(8) {
            0 => least - 1,
            1 => drawn - 1,
            2 => drawn.midpoint(least),
            _ => drawn,
        }
    };
    let budget = of(all
        .iter()
        .map(|one| one.landed.in_units(2).unwrap())
        .map(|units| i64::try_from(units).unwrap())
        .collect());
    let mass = of(all.iter().map(|one| one.mass).collect());
    let (budget, mass) = (Some(Dec::new(budget, 2)), Some(mass));
    match dice.below(4) {
        0 => (Limits::default(), "no limit"),
        1 => (Limits { budget, mass: None }, "a budget"),
        2 => (Limits { budget: None, mass }, "a mass limit"),
        _ => (Limits { budget, mass }, "both limits"),
    }
}

/// How often each thing was tried.
#[derive(Debug, Default)]
struct Tried {
    seen: BTreeMap<&'static str, usize>,
    /// Choices that `cost` refuses.
    refused: usize,
}

impl Tried {
    fn count(&mut self, what: &'static str, more: usize) {
        *self.seen.entry(what).or_default() += more;
    }
}

/// One small book: the answer of `plan`, and what every choice costs.
fn is_best_of_all(number: u64, tried: &mut Tried) {
    let drawn = drawn(number);
    let about = format!("book {number} to {}", drawn.to);
    let book = made::taken(&made::borrowed(&drawn.text));
    let free = made::ask(&book);
    let jurisdiction = Jurisdiction::open(tables(), &free).unwrap();
    let desk = Desk::lay(drawn.text.clone(), &jurisdiction);
    let mut choices = desk.every(&drawn.wishes);
    let mut all: Vec<Costed> = Vec::new();
    let together = choices.len();
    choices.retain(|chosen| {
        let costed = desk.cost(chosen);
        all.extend(costed);
        costed.is_some()
    });
    tried.refused += together - all.len();
    let mut dice = Dice(number ^ 0x11_71);
    let (limits, limited) = limits(&all, &mut dice);
    let wishes = Wishes {
        frontier: dice.one_in(3),
        lightest: dice.one_in(3),
        ..drawn.wishes
    };
    let ask = limits.ask(&book);
    let best = expected(&all, &wishes, limits);
    match planned(&book, tables(), &ask, &wishes) {
        Planned::Found(plans) => {
            assert_eq!(points(&plans), best, "{about}: {wishes:?} {limits:?}");
            assert_eq!(plans.stopped, Stopped::Proven, "{about}");
            for plan in &plans.plans {
                let rows = desk.rows_of(&plan.choices);
                let at = choices.iter().position(|chosen| *chosen == rows);
                let at = at.unwrap_or_else(|| panic!("{about}: {:?} is no choice", plan.choices));
                let own = (plan.landed, tenths(plan.mass));
                assert_eq!((all[at].landed, all[at].mass), own, "{about}");
            }
            tried.count("the build is not the best", usize::from(changed(&plans)));
        }
        Planned::Nothing(why) => {
            assert!(
                best.is_empty(),
                "{about}: {} where {best:?} is best",
                why.reason.message
            );
            nearest_hold(&why.nearest, &all, limits, &about);
            tried.count(
                if all.is_empty() {
                    "nothing goes together"
                } else {
                    "nothing is within the limits"
                },
                1,
            );
            tried.count("nearest plans", why.nearest.len());
        }
    }
    tried.count("choices", all.len());
    tried.count(
        "anti-dumping",
        usize::from(all.iter().any(|one| one.remedy)),
    );
    tried.count(limited, 1);
    tried.count("the frontier", usize::from(wishes.frontier));
    let held: BTreeSet<&str> = drawn.holds.iter().copied().collect();
    held.into_iter().for_each(|what| tried.count(what, 1));
}

fn changed(plans: &Plans) -> bool {
    !plans.changes.is_empty()
}

/// Fits, needs, bundles, codes, free freight, taxes, `--keep`, `--max-sellers` and limits, several of them in one book.
#[test]
fn plans_of_small_books_are_the_best_of_what_every_choice_costs() {
    let (whole, share) = BOOKS;
    let count = made::share(whole, share);
    // a share is not always of the same destinations
    let step = if count == whole { 1 } else { 149 };
    let mut tried = Tried::default();
    for at in 0..count {
        is_best_of_all((at * step + made::seed()) % (whole * 100), &mut tried);
    }
    assert!(tried.seen["choices"] as u64 > 12 * count, "{tried:?}");
    if count == whole {
        for (what, seen) in &tried.seen {
            assert!(*seen > 20, "{what}: {seen}");
        }
        assert!(tried.seen.len() > 20, "{tried:?}");
    }
}

/// A larger book on the desk, with a limit of one kind or none.
struct Large {
    to: &'static str,
    shape: Size,
    seed: u64,
}

/// What a plan is asked under, and where its choice lies.
struct Proven<'d> {
    desk: &'d Desk<'d>,
    limits: Limits,
    plans: Vec<(Vec<usize>, Dec, i64)>,
    about: String,
}

impl Large {
    /// The proven plan, or the frontier, each point costed again.
    fn proven(&self, frontier: bool, look: impl FnOnce(&Proven<'_>)) {
        let text = books::tables(self.shape, self.to, self.seed);
        let (book, tables) = books::read(self.to, &text);
        let free = made::ask(&book);
        let jurisdiction = Jurisdiction::open(&tables, &free).unwrap();
        let desk = Desk::lay(text, &jurisdiction);
        let limits = if frontier {
            Limits::default()
        } else {
            self.limits(&desk)
        };
        let wishes = Wishes {
            frontier,
            ..Wishes::default()
        };
        let about = format!("{} {:?} {}: {limits:?}", self.to, self.shape, self.seed);
        let found = match planned(&book, &tables, &limits.ask(&book), &wishes) {
            Planned::Found(plans) => plans,
            Planned::Nothing(why) => panic!("{about}: {}", why.reason.message),
        };
        assert_eq!(found.stopped, Stopped::Proven, "{about}");
        let mut plans = Vec::new();
        for plan in &found.plans {
            let (rows, own) = (
                desk.rows_of(&plan.choices),
                (plan.landed, tenths(plan.mass)),
            );
            assert!(
                plan.proven && desk.holds(&rows, &wishes),
                "{about}: {plan:?}"
            );
            let costed = desk.cost(&rows).unwrap();
            assert_eq!((costed.landed, costed.mass), own, "{about}: {plan:?}");
            assert!(limits.hold(&costed), "{about}: {plan:?}");
            plans.push((rows, own.0, own.1));
        }
        look(&Proven {
            desk: &desk,
            limits,
            plans,
            about,
        });
    }

    /// None, a mass between the lightest of each place and the build, or the build's cost as the budget.
    fn limits(&self, desk: &Desk<'_>) -> Limits {
        let build = desk.cost(&desk.build()).unwrap();
        let least = desk.least_mass() + build.mass - desk.mass(&desk.build());
        match self.seed % 3 {
            0 => Limits::default(),
            1 => Limits {
                mass: Some(build.mass.midpoint(least)),
                budget: None,
            },
            _ => Limits {
                mass: None,
                budget: Some(build.landed),
            },
        }
    }
}

impl Proven<'_> {
    /// Changed plans that keep within the limits by their mass, costed; none of them is better. Some of them are what is changed
    /// next, so that more than three places differ in the end.
    fn stands(&self, tries: u64, dice: &mut Dice) -> u64 {
        let (plan, landed, mass) = &self.plans[0];
        let most = self.limits.mass.unwrap_or(if self.limits.budget.is_some() {
            *mass
        } else {
            i64::MAX
        });
        let (mut from, mut done) = (plan.clone(), 0);
        for nth in 0..tries {
            if nth % 40 == 0 {
                from.clone_from(plan);
            }
            let Some(next) = self.within(&from, most, dice) else {
                // nothing else is as light
                return done;
            };
            let Some(costed) = self.desk.cost(&next) else {
                continue;
            };
            done += 1;
            assert_eq!(costed.mass, self.mass(&next), "{}", self.about);
            let (own, best) = if self.limits.budget.is_some() {
                let over = !self.limits.in_budget(&costed);
                ((over, costed.mass, costed.landed), (false, *mass, *landed))
            } else {
                ((false, 0, costed.landed), (false, 0, *landed))
            };
            assert!(
                own >= best,
                "{}: {next:?} is {costed:?}, the plan {plan:?} lands at {landed} and weighs {mass}",
                self.about
            );
            if nth % 4 < 2
                && costed.landed.times(Dec::from(50_u32)).unwrap()
                    <= landed.times(Dec::from(51_u32)).unwrap()
            {
                from = next;
            }
        }
        done
    }

    /// What a choice weighs, with what comes to every choice: some parts are not counted on this basis.
    fn mass(&self, rows: &[usize]) -> i64 {
        let (plan, _, mass) = &self.plans[0];
        mass - self.desk.mass(plan) + self.desk.mass(rows)
    }

    fn within(&self, from: &[usize], most: i64, dice: &mut Dice) -> Option<Vec<usize>> {
        (0..20_000).find_map(|_| {
            self.desk
                .moved(from, dice)
                .filter(|next| self.mass(next) <= most)
        })
    }

    /// Each point is heavier and cheaper than the one before; changed ones are no better than one of them.
    fn is_whole(&self, tries: u64, dice: &mut Dice) {
        let rises =
            |pair: &[(Vec<usize>, Dec, i64)]| pair[0].2 < pair[1].2 && pair[0].1 > pair[1].1;
        assert!(self.plans.windows(2).all(rises), "{}", self.about);
        for _ in 0..tries {
            let at = dice.below(self.plans.len() as u64) as usize;
            let next = self.within(&self.plans[at].0, i64::MAX, dice).unwrap();
            let Some(costed) = self.desk.cost(&next) else {
                continue;
            };
            let beats = |(_, landed, mass): &(Vec<usize>, Dec, i64)| {
                *landed <= costed.landed && *mass <= costed.mass
            };
            assert!(
                self.plans.iter().any(beats),
                "{}: {next:?} is {costed:?}",
                self.about
            );
        }
    }
}

/// One to three places at once, then more: 50,000 tries in a whole run.
#[test]
fn no_changed_plan_beats_a_proven_one() {
    let shapes = [size(12, 5, 5), size(20, 5, 8)];
    let (books, tries) = (made::share(54, 1), made::share(1_000, 40));
    let mut tried = 0;
    for at in (0..books).map(|at| at + made::seed()) {
        let large = Large {
            to: DESTINATIONS[(at % 8) as usize],
            shape: shapes[(at / 8 % 2) as usize],
            seed: 900 + at,
        };
        large.proven(false, |proven| tried += proven.stands(tries, &mut Dice(at)));
    }
    assert!(tried >= made::share(50_000, 40), "{tried}");
}

/// What a frontier says of each of its points is what `cost` says, and no change of one is better than all of them.
#[test]
fn points_of_frontiers_cost_what_they_say() {
    let shapes = [size(8, 9, 3), size(8, 5, 4), size(6, 6, 3), size(7, 4, 5)];
    let small = [size(4, 4, 3)];
    let shapes = if made::share(1, 0) == 1 {
        shapes.as_slice()
    } else {
        &small
    };
    let mut points = 0;
    for at in (0..made::share(48, 1)).map(|at| at + made::seed()) {
        let large = Large {
            to: DESTINATIONS[(at % 8) as usize],
            shape: shapes[(at / 8) as usize % shapes.len()],
            seed: 700 + at,
        };
        large.proven(true, |proven| {
            points += proven.plans.len();
            proven.is_whole(made::share(200, 20), &mut Dice(at));
        });
    }
    assert!(points > made::share(1_000, 3) as usize, "{points}");
}

/// 80.00 and 30.00 of freight for 1,090 g, as the headset lies in the frame's box; it was 80.00 and 10.00 as if the frame of 1,000 g came
/// alone, and `cost` said 110.00 of the same bike.
#[test]
fn what_lies_in_the_box_of_an_option_travels_with_it() {
    let steps = "schedule,up_to_g,price,currency,valid_from\nsteps,1050,10.00,GBP,2020-01-01\nsteps,5000,30.00,GBP,2020-01-01\n";
    let tables = small::tables_with(&[("freight.csv", steps)]);
    let sellers = "seller,dispatch,currency,freight,channel\nNorthmoor,TW,GBP,steps,post\n";
    let rows = "part,place,role,standing,seller,price,mass_g,comes_with\n\
        Plain bar,handlebar,build,in-hand,,,250,\nPlain stem,stem,build,in-hand,,,120,\n\
        Plain saddle,saddle,build,in-hand,,,250,\nPlain pedals,pedals,build,in-hand,,,300,\n\
        Plain frame,frame,build,to-order,Northmoor,95.00,1200,\n\
        Light frame,frame,option,to-order,Northmoor,80.00,1000,\n\
        Light headset,headset,option,bundled,,,90,Light frame\n";
    for (mass, own) in [("80", "Plain headset"), ("100", "Light headset")] {
        let rows = format!("{rows}Plain headset,headset,build,in-hand,,,{mass},\n");
        let book = small::book(&[("parts", &rows), ("sellers", sellers)]);
        let ask = small::ask(&[]);
        let Planned::Found(plans) = planned(&book, &tables, &ask, &Wishes::default()) else {
            panic!("no plan")
        };
        let plan = &plans.plans[0];
        assert_eq!(plan.landed.fixed(2), "110.00");
        assert!(
            plan.choices.iter().any(|choice| choice.part == own),
            "{plan:?}"
        );
        let swapped = [
            ("Plain frame,frame,build", "Plain frame,frame,option"),
            ("Light frame,frame,option", "Light frame,frame,build"),
            (
                "Light headset,headset,option",
                "Light headset,headset,build",
            ),
            (
                "Plain headset,headset,build",
                "Plain headset,headset,option",
            ),
        ];
        let swaps = if own == "Light headset" { 4 } else { 2 };
        let parts = swapped[..swaps]
            .iter()
            .fold(rows, |rows, (was, is)| rows.replace(was, is));
        let book = small::book(&[("parts", &parts), ("sellers", sellers)]);
        let landed = crate::cost(&book, &tables, &ask)
            .unwrap()
            .totals
            .landed()
            .unwrap();
        assert_eq!(landed.fixed(2), "110.00", "{parts}");
    }
}
