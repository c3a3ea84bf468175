//! Rounding, value by value, against Python's decimal arithmetic (computed with 60 digits; own work, free to use).

use landwaiter::units::Mode;

use super::{exact, rows};

const MODES: [(&str, Mode); 7] = [
    ("half_up", Mode::HalfUp),
    ("half_even", Mode::HalfEven),
    ("half_down", Mode::HalfDown),
    ("down", Mode::Down),
    ("up", Mode::Up),
    ("ceiling", Mode::Ceiling),
    ("floor", Mode::Floor),
];

#[test]
fn every_vector_in_all_seven_ways() {
    let rows = rows(include_str!(
        "../../data/oracles/decimal_rounding_vectors.csv"
    ));
    assert_eq!(rows.len(), 144);
    for row in &rows {
        let (value, decimals) = (exact(&row["value"]), row["decimals"].parse().unwrap());
        for (name, mode) in MODES {
            assert_eq!(
                value.round_to(decimals, mode),
                exact(&row[name]),
                "{} to {decimals}, {name}",
                row["value"]
            );
        }
    }
    println!(
        "rounding: {} of {} reproduced exactly",
        rows.len() * MODES.len(),
        rows.len() * MODES.len()
    );
}
