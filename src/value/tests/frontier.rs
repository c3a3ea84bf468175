//! The frontier against published cases and against its own definition.

use crate::units::number;
use crate::value::{Point, frontier};

const CASES: &str = include_str!("../../../tests/data/oracles/frontier_cases.csv");

struct Case {
    name: String,
    point: Point,
    status: String,
    step: String,
}

fn cases() -> Vec<Case> {
    let text: String = CASES
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| format!("{line}\n"))
        .collect();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let columns = reader.headers().unwrap().clone();
    let at = |name: &str| columns.iter().position(|column| column == name).unwrap();
    let (case, option, cost, effect) = (at("case"), at("option"), at("cost"), at("effect"));
    let (status, step) = (at("recomputed_status"), at("recomputed_icer"));
    let read = |record: csv::StringRecord| Case {
        name: record[case].to_owned(),
        point: Point {
            name: record[option].to_owned(),
            cost: number::plain(&record[cost]).unwrap(),
            effect: number::plain(&record[effect]).unwrap(),
        },
        status: record[status].to_owned(),
        step: record[step].to_owned(),
    };
    reader
        .records()
        .map(|record| read(record.unwrap()))
        .collect()
}

#[test]
fn every_published_case_comes_out_to_the_printed_digits() {
    let cases = cases();
    let mut names: Vec<&str> = cases.iter().map(|case| case.name.as_str()).collect();
    names.dedup();
    assert_eq!((names.len(), cases.len()), (10, 49));
    for name in names {
        let own: Vec<&Case> = cases.iter().filter(|case| case.name == name).collect();
        let points: Vec<Point> = own.iter().map(|case| case.point.clone()).collect();
        for (case, found) in own.iter().zip(frontier(&points).unwrap()) {
            let what = format!("{name} {}", case.point.name);
            assert_eq!(found.standing.letters(), case.status, "{what}");
            let step = found
                .step
                .map(|ratio| ratio.value().unwrap().fixed(6))
                .unwrap_or_default();
            assert_eq!(step, case.step, "{what}");
        }
    }
}

#[test]
fn the_order_of_the_options_changes_nothing() {
    let all: Vec<Point> = cases()
        .into_iter()
        .filter(|case| case.name == "frontier_07")
        .map(|case| case.point)
        .collect();
    let first = frontier(&all).unwrap();
    for turn in 1..all.len() {
        let mut turned = all.clone();
        turned.rotate_left(turn);
        let mut found = frontier(&turned).unwrap();
        found.rotate_right(turn);
        assert_eq!(found, first);
    }
}
