//! Random laws, read in decimals by `cost`, in whole numbers by `bulk` and as the live formulas of a workbook: all must come to the
//! same penny.
//!
//! A law is drawn from the grammar in `laws`, and parcels of one line go through the program. Parcels of several lines are put
//! before all readings at once in the tests of `landed` and of `rules`.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::harness::{Ran, Run, landwaiter};
use crate::kit::{self, Dice};
use crate::laws::{LINES, charges, offers, reliefs, tables_of, tariff};

fn landed_of_list(ran: &Ran) -> Vec<String> {
    ran.out
        .lines()
        .skip(1)
        .map(|line| line.split(',').nth_back(1).unwrap().to_owned())
        .collect()
}

fn landed_of_book(ran: &Ran) -> BTreeMap<String, String> {
    let json: Value = serde_json::from_str(&ran.out).unwrap();
    let bills = json["consignments"].as_array().unwrap();
    bills
        .iter()
        .map(|bill| {
            (
                bill["id"].as_str().unwrap().to_owned(),
                bill["landed"].as_str().unwrap().to_owned(),
            )
        })
        .collect()
}

#[test]
fn random_laws_come_to_the_same_penny_in_decimals_and_in_whole_numbers() {
    let (mut compared, mut refused) = (0, 0);
    for law in 0..kit::share(400, 12) {
        let mut dice = Dice(kit::seed() ^ (law << 20) ^ 0x5eed);
        let tables = [
            ("charges", charges(&mut dice)),
            ("reliefs", reliefs(&mut dice)),
            ("tariff", tariff(&mut dice)),
        ];
        let (list, parts, sellers) = offers(&mut dice);
        let with = |command: &str| -> Run {
            let destination =
                "country,currency,customs_exchange,valid_from\nXA,EUR,ecb-month,2020-01-01\n";
            let mut run = landwaiter(command).file("r/destinations.csv", destination);
            for (name, text) in &tables {
                run = run.file(&format!("r/xa/{name}.csv"), text);
            }
            run = run.file(
                "r/xa/taxes.csv",
                "tax,country,commodity,percent,valid_from\nvat,XA,*,0,2020-01-01\n",
            );
            run.file("book/sellers.csv", &sellers).file(
                "book/settings.csv",
                "setting,value\ndestination,XA\ndate,2026-09-23\n",
            )
        };
        let bulk = with("bulk offers.csv book --rates r")
            .file("offers.csv", &list)
            .go();
        let cost = with("cost book --rates r --format json")
            .file("book/parts.csv", &parts)
            .go();
        if cost.status != 0 || bulk.status != 0 {
            assert_eq!(
                (cost.status, bulk.status),
                (1, 1),
                "{tables:?}\n{}\n{}",
                bulk.err,
                cost.err
            );
            refused += 1;
            continue;
        }
        let book = kit::book(&[
            ("parts", &parts),
            ("sellers", &sellers),
            (
                "settings",
                "setting,value\ndestination,XA\ndate,2026-09-23\n",
            ),
        ]);
        let read = kit::tried(&book, &tables_of(&tables), &kit::ask(&book)).unwrap();
        read.unwrap_or_else(|error| panic!("law {law}: {error}\n{tables:?}\n{parts}\n{sellers}"));
        let (fast, exact) = (landed_of_list(&bulk), landed_of_book(&cost));
        assert_eq!((fast.len(), exact.len()), (LINES, LINES));
        for (at, fast) in fast.iter().enumerate() {
            assert_eq!(
                Some(fast),
                exact.get(&format!("S{at}")),
                "law {law}, line {at}\n{tables:?}\n{list}\n{sellers}"
            );
            compared += 1;
        }
    }
    assert!(
        compared > 0 && refused * 10 <= compared / LINES,
        "{compared} lines compared, {refused} laws refused"
    );
}
