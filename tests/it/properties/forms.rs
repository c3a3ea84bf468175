//! The order of rows and the way a program saves its tables say nothing: the same book lands at the same sum.

use landwaiter::landed::Landed;
use proptest::prelude::*;
use proptest::sample::select;

use super::books::{PLAIN, Saved, Shelf, Typed, calculate, files, said, shelf};
use super::cases;

/// Shuffles rows by a draw of numbers.
fn shuffled(typed: &[Typed], keys: &[u32]) -> Vec<Typed> {
    let one = |table: &Typed| {
        let mut rows: Vec<(u32, Vec<String>)> = table
            .rows
            .iter()
            .cloned()
            .enumerate()
            .map(|(at, row)| (keys[(at + table.header.len()) % keys.len()], row))
            .collect();
        rows.sort_by_key(|(key, _)| *key);
        Typed {
            rows: rows.into_iter().map(|(_, row)| row).collect(),
            ..table.clone()
        }
    };
    typed.iter().map(one).collect()
}

/// Moves columns by a draw of numbers.
fn moved(typed: &[Typed], keys: &[u32]) -> Vec<Typed> {
    let one = |table: &Typed| {
        let mut order: Vec<usize> = (0..table.header.len()).collect();
        order.sort_by_key(|at| keys[at % keys.len()]);
        let pick = |row: &Vec<String>| order.iter().map(|at| row[*at].clone()).collect();
        Typed {
            table: table.table,
            header: order.iter().map(|at| table.header[*at]).collect(),
            rows: table.rows.iter().map(pick).collect(),
        }
    };
    typed.iter().map(one).collect()
}

fn of(typed: &[Typed], saved: Saved) -> Landed {
    calculate(&files(typed, saved)).unwrap_or_else(|refused| panic!("{refused}\n{saved:?}"))
}

fn saved() -> impl Strategy<Value = Saved> {
    let line_end = select(vec!["\n", "\r\n", "\r"]);
    (
        select(vec![',', ';', '\t']),
        line_end,
        any::<bool>(),
        any::<bool>(),
        any::<bool>(),
        any::<bool>(),
    )
        .prop_map(|(separator, line_end, mark, wide, comma, notes)| Saved {
            separator,
            line_end,
            mark,
            wide,
            decimal_comma: comma && separator != ',',
            notes,
        })
}

fn same(shelf: &Shelf, other: &[Typed], saved: Saved) {
    let plain = shelf.typed();
    assert_eq!(said(&of(&plain, PLAIN)), said(&of(other, saved)));
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn the_order_of_rows_and_columns_says_nothing(shelf in shelf(), keys in proptest::collection::vec(any::<u32>(), 29)) {
        let typed = shelf.typed();
        same(&shelf, &moved(&shuffled(&typed, &keys), &keys), PLAIN);
    }

    #[test]
    fn the_way_a_table_is_saved_says_nothing(shelf in shelf(), saved in saved()) {
        let typed = shelf.typed();
        same(&shelf, &typed, saved);
    }

    /// A seller's columns may stand in the rows of its parts instead.
    #[test]
    fn a_table_of_sellers_is_not_needed(shelf in shelf()) {
        let typed = shelf.typed();
        let sellers = typed.iter().find(|t| t.table == "sellers").unwrap();
        let mut parts = typed.iter().find(|t| t.table == "parts").unwrap().clone();
        let own: Vec<usize> = (1..sellers.header.len()).filter(|at| !parts.header.contains(&sellers.header[*at])).collect();
        parts.header.extend(own.iter().map(|at| sellers.header[*at]));
        for row in &mut parts.rows {
            let seller = sellers.rows.iter().find(|seller| seller[0] == row[2]);
            row.extend(own.iter().map(|at| seller.map(|s| s[*at].clone()).unwrap_or_default()));
        }
        let others = typed.iter().filter(|t| t.table != "sellers" && t.table != "parts").cloned();
        let joined: Vec<Typed> = others.chain([parts]).collect();
        same(&shelf, &joined, PLAIN);
    }
}
