//! The search on a peer instance, timed by its own clock: `plan_bench INSTANCE single|frontier [SECONDS] [points]`.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::float_arithmetic,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    unreachable_pub,
    reason = "a measuring program, not a part of the crate"
)]

mod clock;
mod instance;

use std::time::Instant;

use clock::Clock;
use instance::Instance;
use landwaiter::plan::{Goal, NO_LIMIT, Stopped, UNIT, search};

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let text = std::fs::read_to_string(&args[1]).unwrap();
    let limit = args.get(3).map_or(120.0, |s| s.parse().unwrap());
    let begun = Instant::now();
    let instance = Instance::read(&text);
    let single = args[2] == "single";
    let goal = if single {
        Goal::Cheapest(Some(instance.budget))
    } else {
        Goal::Frontier
    };
    let out = search(&instance.model, &instance, goal, &Clock { begun, limit }).unwrap();
    let seconds = begun.elapsed().as_secs_f64();
    if single {
        let best = out.plans.first().unwrap();
        let (cost, mass) = instance.model.price(&instance, &best.offers).unwrap();
        assert_eq!((cost, mass), (best.cost, best.mass));
        println!(
            "single {cost} {mass} status {} bound {} nodes {} time {seconds:.4}",
            out.stopped.name().replace(' ', "-"),
            out.bound,
            out.nodes
        );
    } else {
        let complete = i32::from(out.stopped == Stopped::Proven);
        // a corner's cost beyond its neighbour's is of no interest; the largest gap is what the proof still lacks
        let gap = out
            .open
            .iter()
            .filter(|c| c.0 < NO_LIMIT / UNIT / 16)
            .map(|c| c.0 - c.2)
            .max()
            .unwrap_or(0);
        println!(
            "frontier {} complete {complete} open {} gap {gap} nodes {} time {seconds:.4}",
            out.plans.len(),
            out.open.len(),
            out.nodes
        );
        for p in out.plans.iter().filter(|_| args.len() > 4) {
            println!("point {} {}", p.cost, p.mass);
        }
    }
}
