//! `plan` at its limits: figures too large to be calculated with, a budget that nothing keeps, points that are not proven.

use std::cell::{Cell, RefCell};
use std::fs;
use std::path::Path;

use landwaiter::book::{Book, BookFile};
use landwaiter::landed::Jurisdiction;
use landwaiter::plan::{
    Better, Case, Cases, Goal, Model, NO_LIMIT, Offer, PackageCost, Planned, Plans, SoFar, Stopped,
    UNIT, Watch, Wishes, plan, search,
};
use landwaiter::tables::{File, Tables, TaxName};
use landwaiter::text::Problems;
use landwaiter::units::{Currency, Dec, Rate};
use serde_json::Value;

use crate::kit;

/// An example with one of its tables changed.
fn changed(example: &str, table: &str, change: impl Fn(&str) -> String) -> tempfile::TempDir {
    let from = kit::home().join("examples").join(example);
    let dir = tempfile::tempdir().unwrap();
    fs::create_dir(dir.path().join("rates")).unwrap();
    for folder in ["", "rates"] {
        for entry in fs::read_dir(from.join(folder))
            .unwrap()
            .map(Result::unwrap)
            .filter(|entry| entry.path().is_file())
        {
            fs::copy(
                entry.path(),
                dir.path().join(folder).join(entry.file_name()),
            )
            .unwrap();
        }
    }
    let path = dir.path().join(format!("{table}.csv"));
    let text = fs::read_to_string(&path).unwrap();
    let new = change(&text);
    assert_ne!(text, new);
    fs::write(path, new).unwrap();
    dir
}

/// `check` and `plan` refuse it and name the cell; neither panics.
fn refused(book: &Path, flags: &[&str], cell: &str) {
    let book = book.to_str().unwrap();
    for args in [vec!["check", book], [&["plan", book], flags].concat()] {
        let ran = kit::landwaiter(&args);
        assert_eq!(ran.status, 1, "{args:?}: {}", ran.stderr);
        assert!(ran.stderr.contains(cell), "{args:?}: {}", ran.stderr);
        assert!(
            ran.stderr.contains("expected no more than ") && !ran.stderr.contains("panicked"),
            "{args:?}: {}",
            ran.stderr
        );
    }
}

#[test]
fn a_freight_too_large_to_be_meant_is_refused_with_its_cell() {
    for (freight, flags) in [
        ("999999999", vec!["--limit", "1"]),
        ("9999999999", vec!["--frontier", "--limit", "1"]),
    ] {
        let book = changed("gravel-build", "sellers", |text| {
            text.replace("business,96.00,", &format!("business,{freight},"))
                .replace("business,24.90,", &format!("business,{freight},"))
        });
        refused(book.path(), &flags, &format!("`freight` is `{freight}`"));
    }
}

#[test]
fn a_mass_too_large_to_be_meant_is_refused_with_its_cell() {
    let book = changed("after-delivery", "weighings", |text| {
        text.replace(",1214,", ",1000000,")
            .replace(",471,", ",1000000,")
    });
    refused(book.path(), &["--limit", "1"], "`mass_g` is `1000000`");
}

/// The largest figures that are taken are searched without overflow, or refused in words.
#[test]
fn the_largest_figures_that_are_taken_do_not_overflow() {
    for (freight, mass) in kit::one_in(
        2,
        [
            ("700000", "99999"),
            ("96.00", "99999"),
            ("0.01", "0.1"),
            ("700000", "1430"),
        ],
    ) {
        for flags in [
            vec!["--limit", "1"],
            vec!["--limit", "1", "--frontier"],
            vec!["--limit", "1", "--max-mass", "999999999999"],
        ] {
            let book = changed("gravel-build", "sellers", |text| {
                text.replace("business,96.00,", &format!("business,{freight},")) + "\n"
            });
            let parts = fs::read_to_string(book.path().join("parts.csv")).unwrap();
            fs::write(
                book.path().join("parts.csv"),
                parts.replace(",1430,", &format!(",{mass},")),
            )
            .unwrap();
            let ran = kit::landwaiter(
                &[&["plan", book.path().to_str().unwrap()], flags.as_slice()].concat(),
            );
            assert!(
                [0, 1, 3].contains(&ran.status) && !ran.stderr.contains("panicked"),
                "{freight} {mass} {flags:?}: {}",
                ran.stderr
            );
        }
    }
}

/// Stops a search at once.
struct AtOnce;

impl Watch for AtOnce {
    fn stop(&self) -> Option<Stopped> {
        Some(Stopped::TimeLimit)
    }
}

/// Stops when it was asked so often.
struct After(Cell<u64>);

impl Watch for After {
    fn stop(&self) -> Option<Stopped> {
        let left = self.0.get().checked_sub(1);
        self.0.set(left.unwrap_or(0));
        left.is_none().then_some(Stopped::TimeLimit)
    }
}

/// What an example's search finds when it is stopped at once, with other settings.
fn stopped(settings: &[(&str, &str)], wishes: &Wishes) -> (Planned, Option<Value>) {
    watched(settings, wishes, &AtOnce)
}

/// What an example's search finds under this watch, with other settings.
fn watched(
    settings: &[(&str, &str)],
    wishes: &Wishes,
    watch: &dyn Watch,
) -> (Planned, Option<Value>) {
    let folder = kit::home().join("examples/gravel-build");
    let file = |table: &str| {
        let mut bytes = fs::read(folder.join(format!("{table}.csv"))).unwrap();
        if table == "settings" {
            let text = String::from_utf8(bytes).unwrap();
            let kept = text.lines().filter(|line| {
                !["budget,", "max_mass_g,", "rates,"]
                    .iter()
                    .any(|name| line.starts_with(name))
            });
            let more = settings
                .iter()
                .map(|(name, value)| format!("{name},{value},"));
            bytes = (kept
                .map(str::to_owned)
                .chain(more)
                .collect::<Vec<_>>()
                .join("\n")
                + "\n")
                .into_bytes();
        }
        BookFile {
            path: format!("{table}.csv"),
            table: table.to_owned(),
            bytes,
        }
    };
    let files: Vec<BookFile> = ["parts", "sellers", "parcels", "discounts", "settings"]
        .map(file)
        .into();
    let mut problems = Problems::new();
    let book = Book::read(&files, &mut problems);
    let bytes = fs::read(folder.join("rates/freight.csv")).unwrap();
    let own = File {
        path: "own/freight.csv".to_owned(),
        name: "freight.csv".to_owned(),
        bytes: bytes.into(),
        users: true,
    };
    let tables = Tables::load(vec![own], &mut problems);
    let ask = kit::ask(&book);
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let found = plan(&book, &jurisdiction, wishes, watch).unwrap();
    let show = landwaiter::report::Show {
        currency: Currency::GBP,
        rate: Rate::SAME,
        tax: TaxName::Vat,
    };
    let json = match &found {
        Planned::Found(plans) => {
            Some(landwaiter::report::plan_json(plans, &ask, &show, &Value::Null).unwrap())
        }
        Planned::Nothing(_) => None,
    };
    (found, json)
}

fn plans(found: &Planned) -> &Plans {
    match found {
        Planned::Found(plans) => plans,
        Planned::Nothing(why) => panic!("{}", why.reason.message),
    }
}

#[test]
fn a_corner_without_a_known_cost_has_none_and_each_point_has_its_gap() {
    let (found, json) = stopped(
        &[],
        &Wishes {
            frontier: true,
            ..Wishes::default()
        },
    );
    let json = json.unwrap();
    let plans = plans(&found);
    assert_eq!(plans.stopped, Stopped::TimeLimit);
    assert!(!plans.open.is_empty(), "some corners are open");
    let most = Dec::from(1_000_000_u32);
    assert!(
        plans
            .open
            .iter()
            .all(|(cost, _, least)| cost.is_none_or(|cost| cost < most) && *least < most),
        "{:?}",
        plans.open
    );
    assert!(
        json["open"]
            .as_array()
            .unwrap()
            .iter()
            .any(|corner| corner["landed"].is_null()),
        "{}",
        json["open"]
    );
    assert!(
        plans.plans.iter().any(|plan| !plan.proven),
        "some points are not proven"
    );
}

/// Each point of an unfinished frontier tells how much cheaper a plan as light may be: no plan of the whole frontier beats that, and
/// a point that is called proven is on the whole frontier.
#[test]
fn each_point_of_an_unfinished_frontier_has_a_gap_that_holds() {
    let wishes = Wishes {
        frontier: true,
        ..Wishes::default()
    };
    let figure = |value: &Value| super::small::dec(value.as_str().unwrap());
    let points = |json: &Value| json["plans"].as_array().unwrap().clone();
    let asked = After(Cell::new(u64::MAX));
    let (_, whole) = watched(&[], &wishes, &asked);
    let asked = u64::MAX - asked.0.get();
    let whole = points(&whole.unwrap());
    let (mut open, mut proven) = (0, 0);
    for asks in (0..8).map(|eighths| asked / 8 * eighths).chain([asked - 1]) {
        let (_, json) = watched(&[], &wishes, &After(Cell::new(asks)));
        for plan in points(&json.unwrap()) {
            let [landed, bound, gap, mass] =
                ["landed", "bound", "gap", "mass_g"].map(|name| figure(&plan[name]));
            assert_eq!(gap, landed.minus(bound).unwrap(), "{asks}: {plan}");
            let as_light = whole.iter().filter(|at| figure(&at["mass_g"]) <= mass);
            let best = as_light.map(|at| figure(&at["landed"])).min().unwrap();
            assert!(bound <= best && best <= landed, "{asks}: {plan}, {best}");
            if plan["proven"] == true {
                assert_eq!(best, landed, "{asks}: {plan}");
                proven += 1;
            } else {
                open += 1;
            }
        }
    }
    assert!(open > 0 && proven > 0, "{open} open, {proven} proven");
}

#[test]
fn nothing_outside_the_limits_is_an_answer() {
    let (all, _) = stopped(
        &[],
        &Wishes {
            frontier: true,
            ..Wishes::default()
        },
    );
    let all = plans(&all);
    let dearest = all.plans.iter().map(|plan| plan.landed).max().unwrap();
    let cheapest = all.plans.iter().map(|plan| plan.landed).min().unwrap();
    assert!(cheapest < dearest, "there is a choice");
    let (within, json) = stopped(
        &[("budget", &cheapest.fixed(2))],
        &Wishes {
            frontier: true,
            ..Wishes::default()
        },
    );
    let within = plans(&within);
    assert!(
        within.plans.iter().all(|plan| plan.landed <= cheapest),
        "{:?}",
        within.plans
    );
    assert!(within.outside > 0);
    assert_eq!(json.unwrap()["outside"], within.outside);
}

/// Twelve places with five offers each, all over the budget: a search that is stopped before a proof has no answer, where the
/// plan over the budget was printed as one.
#[test]
fn a_plan_over_the_budget_is_no_answer_before_a_proof_either() {
    let places = [
        "frame",
        "fork",
        "handlebar",
        "stem",
        "seatpost",
        "saddle",
        "pedals",
        "crankset",
        "shifters",
        "chain",
        "cassette",
        "wheels",
    ];
    let there = [
        "bar-tape",
        "hanger",
        "rear-mech",
        "rotors",
        "thru-axles",
        "tyre",
        "bottom-bracket",
        "caliper-bolts",
        "expander",
        "grommets",
        "quick-link",
        "rim-tape",
        "rotor-lockrings",
        "seat-clamp",
        "top-cap",
        "calipers",
        "headset",
        "sealant",
        "valves",
        "hoses",
        "hose-inserts",
        "battery",
        "gear-cables",
    ];
    let mut parts =
        "part,place,role,seller,price,currency,dispatch,mass_g,freight,standing\n".to_owned();
    there
        .iter()
        .for_each(|place| parts += &format!("old {place},{place},build,,,,,50,,in-hand\n"));
    for (at, place) in places.iter().enumerate() {
        for offer in 0..5 {
            let role = if offer == 0 { "build" } else { "option" };
            let (price, mass) = (
                40 + (at * 37 + offer * 61) % 90,
                200 + (at * 53 + offer * 29) % 140,
            );
            let seller = ["Amberway", "Brackwater", "Corrin"][(at + offer) % 3];
            parts += &format!(
                "{place} {offer},{place},{role},{seller},{price}.00,USD,TW,{mass},12,to-order\n"
            );
        }
    }
    let settings = "setting,value\ndestination,GB\ndate,2026-03-02\nkind,gravel\nbudget,100\nmax_mass_g,9000\n";
    let book = kit::book(&[("parts", &parts), ("settings", settings)]);
    let (tables, ask) = (kit::built_in(), kit::ask(&book));
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let found = plan(&book, &jurisdiction, &Wishes::default(), &AtOnce).unwrap();
    match found {
        Planned::Found(plans) => panic!(
            "a plan over the budget is printed as an answer: {:?}",
            plans.plans
        ),
        Planned::Nothing(why) => {
            assert!(
                why.reason.message.contains(
                    "no plan within 100.00 GBP at this weight was found before the time limit"
                ),
                "{}",
                why.reason.message
            );
        }
    }
}

/// Keeps what it is told.
#[derive(Default)]
struct Hears(RefCell<Vec<SoFar>>);

impl Watch for Hears {
    fn stop(&self) -> Option<Stopped> {
        None
    }

    fn so_far(&self, so_far: SoFar) {
        self.0.borrow_mut().push(so_far);
    }
}

/// What the line on a terminal says is true at any moment: the best so far is no better than the plan in the end, and the plan in
/// the end is better by no more than was said.
#[test]
fn what_a_search_tells_on_its_way_holds_in_the_end() {
    let plain = Wishes::default();
    let lightest = Wishes {
        lightest: true,
        ..Wishes::default()
    };
    for (settings, wishes) in [
        (&[("max_mass_g", "8300")][..], &plain),
        (&[], &plain),
        (&[("budget", "3100")], &lightest),
    ] {
        let hears = Hears::default();
        let (found, _) = watched(settings, wishes, &hears);
        let plan = &plans(&found).plans[0];
        let told = hears.0.take();
        let with_bound = told.iter().filter(|so_far| so_far.better.is_some()).count();
        assert!(with_bound > 0, "{settings:?}: {} told", told.len());
        for so_far in told {
            let Some((landed, mass)) = so_far.best else {
                continue;
            };
            match so_far.better {
                Some(Better::Cheaper(by)) => {
                    assert!(landed.minus(by).unwrap() <= plan.landed, "{so_far:?}");
                    assert!(plan.landed <= landed, "{so_far:?}");
                }
                Some(Better::Lighter(by)) => {
                    assert!(mass.0.minus(by.0).unwrap() <= plan.mass.0, "{so_far:?}");
                    assert!(plan.mass <= mass, "{so_far:?}");
                }
                None => {}
            }
            assert!(!so_far.frontier);
        }
    }
    let hears = Hears::default();
    let wishes = Wishes {
        frontier: true,
        ..plain
    };
    let (found, _) = watched(&[], &wishes, &hears);
    let told = hears.0.take();
    let last = told.last().unwrap();
    assert!(last.frontier && last.better.is_none() && last.found > 1);
    let cheapest = plans(&found).plans.iter().map(|plan| plan.landed).min();
    assert_eq!(last.best.map(|(landed, _)| landed), cheapest);
}

/// The parcels with what is in hand come to the headline: 2,968.27 in parcels and 26.00 in hand made 2,994.27 in the example.
#[test]
fn the_parcels_of_a_plan_add_up_to_its_headline() {
    for money in ["GBP", "EUR"] {
        let ran = kit::landwaiter(&[
            "plan",
            "examples/gravel-build",
            "--in",
            money,
            "--format",
            "markdown",
        ]);
        let rows: Vec<Vec<&str>> = ran
            .stdout
            .lines()
            .skip_while(|line| !line.starts_with("| Parcel then "))
            .skip(2)
            .take_while(|line| line.starts_with('|'))
            .map(|line| line.trim_matches('|').split(" | ").map(str::trim).collect())
            .collect();
        let figure = |cell: &str| landwaiter::units::number::plain(&cell.replace(',', "")).unwrap();
        let (foot, parcels) = rows.split_last().unwrap();
        assert!(
            parcels.iter().any(|row| row[0] == "Already yours"),
            "{rows:?}"
        );
        for column in 1..5 {
            assert_eq!(
                figure(foot[column]),
                Dec::total(parcels.iter().map(|row| figure(row[column]))).unwrap(),
                "{rows:?}"
            );
        }
        assert!(
            ran.stdout.contains(&format!("{} {money} landed", foot[4])),
            "{}",
            ran.stdout
        );
    }
}

/// What packages cost, slowly: the time is up after so many were priced.
struct Slow {
    tags: Vec<i64>,
    offers: Vec<Offer>,
    priced: Cell<u64>,
    most: u64,
}

impl PackageCost for Slow {
    fn exact(&self, _: usize, offers: &[u32]) -> Option<i64> {
        self.priced.set(self.priced.get() + 1);
        Some(
            offers
                .iter()
                .map(|offer| self.tags[*offer as usize])
                .sum::<i64>()
                + 300,
        )
    }
    fn cases(&self, seller: usize) -> Cases {
        let own = self
            .offers
            .iter()
            .zip(&self.tags)
            .filter(|(offer, _)| offer.seller == seller)
            .map(|(_, tag)| tag * UNIT);
        let case = Case {
            class: 0,
            fixed: 0,
            goods_least: 0,
            goods_most: NO_LIMIT,
            weight_most: NO_LIMIT,
        };
        Cases {
            classes: vec![own.collect()],
            cases: vec![case],
        }
    }
    fn room(&self, _: usize) -> usize {
        65_536
    }
    fn patience(&self, _: usize) -> u64 {
        600
    }
    fn is_late(&self) -> bool {
        self.priced.get() >= self.most
    }
}

impl Watch for Slow {
    fn stop(&self) -> Option<Stopped> {
        self.is_late().then_some(Stopped::TimeLimit)
    }
}

/// 29 places with two offers each, from three sellers. When the time is up, what is being done is left within a few packages: a
/// plan in hand is all that is still looked for.
#[test]
fn little_is_priced_after_the_time_is_up() {
    let of = |place: usize, at: usize| Offer {
        seller: (place + at) % 3,
        places: 1 << place,
        mass: 100 + (place * 7 + at * 5) as i64,
        goods: (2_000 + 300 * place - 100 * at) as i64,
        ..Offer::default()
    };
    let offers: Vec<Offer> = (0..29)
        .flat_map(|place| [of(place, 0), of(place, 1)])
        .collect();
    let tags: Vec<i64> = offers.iter().map(|offer| offer.goods).collect();
    let model = Model {
        places: 29,
        required: (1 << 29) - 1,
        offers: offers.clone(),
        sellers: 3,
        ..Model::default()
    };
    for goal in [
        Goal::Cheapest(None),
        Goal::Frontier,
        Goal::Lightest(300_000),
    ] {
        for most in [1, 40, 1_000] {
            let slow = Slow {
                tags: tags.clone(),
                offers: offers.clone(),
                priced: Cell::new(0),
                most,
            };
            let found = search(&model, &slow, goal, &slow).unwrap();
            assert!(
                found.stopped != Stopped::TimeLimit || !found.plans.is_empty(),
                "{goal:?} {most}"
            );
            let late = slow.priced.get().saturating_sub(most);
            assert!(late < 400, "{goal:?} {most}: {late} more");
        }
    }
}

/// What is still open ends at the budget: no corner above it is kept, and one remains where something may be below it.
#[test]
fn open_corners_end_at_the_budget() {
    let wishes = Wishes {
        frontier: true,
        ..Wishes::default()
    };
    let (free, _) = stopped(&[], &wishes);
    let known: Vec<Dec> = plans(&free).plans.iter().map(|plan| plan.landed).collect();
    assert!(known.len() > 2, "{known:?}");
    let budget = known[known.len() / 2];
    let (found, json) = stopped(&[("budget", &budget.to_string())], &wishes);
    let (found, json) = (plans(&found), json.unwrap());
    assert_eq!(found.stopped, Stopped::TimeLimit);
    assert!(found.plans.iter().all(|plan| plan.landed <= budget) && !found.open.is_empty());
    let over = plans(&free)
        .open
        .iter()
        .filter(|(cost, ..)| cost.is_none_or(|cost| cost > budget))
        .count();
    assert!(over > 1, "without a budget some corners are above it");
    assert!(
        found
            .open
            .iter()
            .all(|(cost, ..)| cost.is_none_or(|cost| cost <= budget)),
        "{:?}",
        found.open
    );
    assert!(
        found
            .open
            .iter()
            .filter(|(cost, ..)| cost.is_none_or(|cost| cost >= budget))
            .count()
            <= 1,
        "{:?}",
        found.open
    );
    let said = json["open"].as_array().unwrap();
    assert!(
        said.iter().all(|corner| corner["landed"]
            .as_str()
            .is_none_or(|sum| super::small::dec(sum) <= budget)),
        "{said:?}"
    );
}

#[test]
fn a_frontier_that_is_not_proven_is_the_best_known() {
    let (found, _) = stopped(
        &[],
        &Wishes {
            frontier: true,
            ..Wishes::default()
        },
    );
    let show = landwaiter::report::Show {
        currency: Currency::GBP,
        rate: Rate::SAME,
        tax: TaxName::Vat,
    };
    let text = landwaiter::report::text(
        &landwaiter::report::plan_view(plans(&found), &super::small::ask(&[]), &show).unwrap(),
        &landwaiter::report::Screen::of(100).with_more(true),
    );
    assert!(
        text.starts_with("The best known so far: ") && !text.contains("no other beats"),
        "{text}"
    );
    assert!(
        text.split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .contains("stopped by the time limit: 0 of "),
        "{text}"
    );
}
