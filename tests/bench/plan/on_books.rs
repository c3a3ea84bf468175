//! The plan of generated books, timed by the processor: `plan_books DESTINATION PLACESxOFFERSxSELLERS SEED mass|budget|frontier [SECONDS]`, or
//! `... write FOLDER` to look at one. For other solvers: `... mass|budget search SECONDS` times the search alone once the book is
//! compiled, `... mass|budget choice FILE ROOM` writes the choice down (`choice.rs` says how), and `... mass|budget price` prices the
//! packages that are asked for line by line.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::float_arithmetic,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    unreachable_pub,
    reason = "a measuring program, not a part of the crate"
)]

mod books;
mod choice;
mod clock;

use std::time::Instant;

use books::Size;
use clock::Clock;
use landwaiter::book::Book;
use landwaiter::landed::Jurisdiction;
use landwaiter::plan::{Planned, Wishes, look_at, plan, search};
use landwaiter::units::Date;
use landwaiter::{Question, cost};

fn size(text: &str) -> Size {
    let of: Vec<usize> = text.split('x').map(|n| n.parse().unwrap()).collect();
    Size {
        places: of[0],
        offers: of[1],
        sellers: of[2],
    }
}

/// Seconds that this program has been on the processor: on a busy machine they say what work it was.
fn now() -> f64 {
    // the account is brought up to date when the turn is given away
    std::thread::yield_now();
    let told = std::fs::read_to_string("/proc/self/schedstat").unwrap();
    let nanoseconds: f64 = told.split_whitespace().next().unwrap().parse().unwrap();
    nanoseconds / 1e9
}

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let (to, shape, seed) = (&args[1], size(&args[2]), args[3].parse().unwrap());
    let made = books::tables(shape, to, seed);
    if args[4] == "write" {
        let folder = std::path::Path::new(&args[5]);
        std::fs::create_dir_all(folder.join("rates")).unwrap();
        for (name, text) in &made {
            std::fs::write(folder.join(format!("{name}.csv")), text).unwrap();
        }
        std::fs::write(folder.join("rates/freight.csv"), books::freight(to)).unwrap();
        return;
    }
    let (mut book, tables) = books::read(to, &made);
    let day = Date::parse("2026-09-23").unwrap();
    let ask = Question::new(&book.settings, day).unwrap();
    let build = cost(&book, &tables, &ask).unwrap();
    let landed = build.totals.landed().unwrap();
    match args[4].as_str() {
        "mass" => {
            let most = mass_limit(&book);
            book.settings.set("max_mass_g", &most.to_string()).unwrap();
        }
        "budget" => book.settings.set("budget", &landed.fixed(2)).unwrap(),
        _ => {}
    }
    let ask = Question::new(&book.settings, day).unwrap();
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let wishes = Wishes {
        frontier: args[4] == "frontier",
        ..Wishes::default()
    };
    if let Some("search" | "choice" | "price") = args.get(5).map(String::as_str) {
        return beside(&book, &jurisdiction, &args[5..]);
    }
    let limit = args.get(5).map_or(60.0, |s| s.parse().unwrap());
    let (begun, before) = (Instant::now(), now());
    let planned = plan(&book, &jurisdiction, &wishes, &Clock { begun, limit });
    let seconds = now() - before;
    match planned {
        Ok(Planned::Found(plans)) => {
            let last = plans.plans.last().unwrap();
            println!(
                "{to} {} {seed} {} {} build {} plans {} landed {} mass {} open {} time {seconds:.4}",
                args[2],
                args[4],
                plans.stopped.name().replace(' ', "-"),
                landed.fixed(2),
                plans.plans.len(),
                last.landed.fixed(2),
                last.mass.0,
                plans.open.len(),
            );
        }
        Ok(Planned::Nothing(why)) => println!(
            "{to} {} {seed} nothing: {} time {seconds:.3}",
            args[2], why.reason.message
        ),
        Err(problems) => println!("{to} {} {seed} refused: {problems:?}", args[2]),
    }
}

/// What other solvers are compared with and what they are given.
fn beside(book: &Book, jurisdiction: &Jurisdiction<'_>, asked: &[String]) {
    let wishes = Wishes::default();
    let limit = asked.get(1).and_then(|s| s.parse().ok()).unwrap_or(1e9);
    let begun = Instant::now();
    let clock = Clock { begun, limit };
    let before = now();
    let seen = look_at(
        book,
        jurisdiction,
        &wishes,
        &clock,
        |model, cost, goal| match asked[0].as_str() {
            "search" => {
                let ready = now() - before;
                let begun = Instant::now();
                let found = search(model, cost, goal, &Clock { begun, limit }).unwrap();
                let seconds = now() - before - ready;
                let best = found.plans.first().unwrap();
                println!(
                    "search {} {} status {} nodes {} ready {ready:.4} time {seconds:.4}",
                    best.cost,
                    best.mass,
                    found.stopped.name().replace(' ', "-"),
                    found.nodes
                );
            }
            "choice" => {
                let text = choice::written(model, cost, goal, asked[2].parse().unwrap());
                std::fs::write(&asked[1], text).unwrap();
            }
            _ => choice::answer(cost),
        },
    );
    assert!(seen.is_ok(), "{:?}", seen.err());
}

/// Grams between the lightest bike and the one of the build.
fn mass_limit(book: &Book) -> u64 {
    let (mut least, mut build) = (0.0, 0.0);
    let mut by_place: std::collections::BTreeMap<&str, (f64, f64)> =
        std::collections::BTreeMap::new();
    for row in &book.parts {
        let Some(mass) = row.total_mass() else {
            continue;
        };
        let grams: f64 = mass.0.fixed(1).parse().unwrap();
        let own = by_place
            .entry(row.places[0].as_str())
            .or_insert((f64::MAX, 0.0));
        own.0 = own.0.min(grams);
        if own.1 == 0.0 {
            own.1 = grams;
        }
    }
    for (low, own) in by_place.values() {
        least += low;
        build += own;
    }
    (least + (build - least) * 0.5) as u64 + 1
}
