//! What a sum does not hold is said wherever the sum is: in the CSV of a cost, in its workbook, and beside a price list.

use super::harness::{Ran, landwaiter};

const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-10-21\ncard_fee,0\n";

/// A levy of 10 % on goods that ended in June, a fee that ended in March, and one that nobody asks after.
const ENDED: &str = "# source = invented\n# evidence = inferred\n\
    charge,kind,order,level,of,percent,flat,per,currency,when,after,valid_from,valid_to\n\
    old_levy,duty,111,line,goods,10,,,,place = saddle,,2020-01-01,2026-06-30\n\
    old_fee,fee,112,consignment,,,5.00,consignment,GBP,,,2020-01-01,2026-03-31\n\
    known_end,fee,113,consignment,,,9.00,consignment,GBP,,nothing,2020-01-01,2026-03-31\n";

fn ran(args: &str) -> Ran {
    let parts = "part,place,seller,price,currency,dispatch,freight,mass_g\n\
                 Gannet saddle,saddle,Taolin,240.00,GBP,TW,,200\nLowtide bar,handlebar,,,,,,\n";
    landwaiter(args)
        .file("b/settings.csv", SETTINGS)
        .file("b/parts.csv", parts)
        .file("r/gb/charges.csv", ENDED)
        .go()
        .ends(0)
}

#[test]
fn the_csv_of_a_cost_has_a_table_of_what_is_not_in_it() {
    let out = ran("cost b --rates r --format csv").out;
    let tables: Vec<&str> = out.lines().filter(|line| line.starts_with("# ")).collect();
    assert_eq!(
        tables,
        ["# parcels", "# parts", "# not in the sums"],
        "{out}"
    );
    let lines: Vec<&str> = out
        .lines()
        .skip_while(|line| *line != "# not in the sums")
        .skip(1)
        .collect();
    assert_eq!(lines[0], "id,what,about");
    let line = |id: &str| -> &str {
        lines
            .iter()
            .find(|line| line.starts_with(&format!("{id},")))
            .unwrap_or_else(|| panic!("{id}: {out}"))
    };
    assert!(
        line("charge-ended").contains("`old_levy` ended 2026-06-30")
            && line("charge-ended").contains("Gannet saddle"),
        "{out}"
    );
    assert!(line("charge-ended").contains("r/gb/charges.csv:4"), "{out}");
    assert!(
        line("fee-ended").contains("`old_fee` ended 2026-03-31"),
        "{out}"
    );
    assert!(line("freight-unknown").contains("Taolin"), "{out}");
    assert!(line("price-open").contains("Lowtide bar"), "{out}");
    assert!(!out.contains("known_end"), "{out}");
    // On the screen the same is said in sentences, and no table is added.
    let text = ran("cost b --rates r")
        .out
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    assert!(
        text.contains("A fee ended 2026-03-31 and a duty ended 2026-06-30")
            && !text.contains("not in the sums"),
        "{text}"
    );
}

#[test]
fn a_sum_that_lacks_nothing_has_no_such_table() {
    let parts = "part,place,seller,price,currency,dispatch,freight\nGannet saddle,saddle,Taolin,40.00,GBP,GB,0\n";
    let out = landwaiter("cost b --format csv")
        .file("b/settings.csv", SETTINGS)
        .file("b/parts.csv", parts)
        .go()
        .ends(0)
        .out;
    assert!(
        out.contains("# parts") && !out.contains("not in the sums"),
        "{out}"
    );
}

#[cfg(feature = "pages")]
#[test]
fn a_workbook_says_what_is_not_in_its_sum() {
    use calamine::{Data, Reader, Xlsx};
    let ran = ran("report b --rates r -o sum.xlsx");
    let mut book: Xlsx<_> = calamine::open_workbook(ran.path("sum.xlsx")).unwrap();
    let total = book.worksheet_range("total").unwrap();
    let rows: Vec<[String; 2]> = total
        .rows()
        .map(|row| [0, 1].map(|at| row.get(at).map_or(String::new(), Data::to_string)))
        .collect();
    let at = |head: &str| {
        rows.iter()
            .position(|[first, _]| first == head)
            .unwrap_or_else(|| panic!("no {head}: {rows:?}"))
    };
    let lacks = &rows[at("Not in the sum") + 1..at("What is fixed here, and why")];
    for (about, what) in [
        ("Gannet saddle", "`old_levy` ended 2026-06-30"),
        ("Taolin", "`old_fee` ended 2026-03-31"),
        ("Taolin", "Shipping is not known"),
        ("Lowtide bar", "no price is told yet"),
    ] {
        assert!(
            lacks
                .iter()
                .any(|row| row[0].contains(about) && row[1].contains(what)),
            "{what}: {lacks:?}"
        );
    }
    assert!(
        !rows
            .iter()
            .any(|row| row[0].contains("other sums than the bills")),
        "the formulas come to the bills: {rows:?}"
    );
    assert_eq!(
        ran.err.matches("come to other sums").count(),
        0,
        "{}",
        ran.err
    );
}

/// Lines in whole numbers and lines that travel together, on one thread and on several.
#[test]
fn rows_that_ended_are_named_once_each_beside_a_list() {
    let header = "date,seller,dispatch,currency,price,mass_g,commodity,origin,consignment\n";
    let ended = ENDED.replace("place = saddle", "commodity = 871495");
    let list = |flags: &str, rows: &str| {
        let sellers = "seller,dispatch,currency,freight\nTaolin,TW,GBP,12.00\n";
        landwaiter(&format!("bulk l.csv b --rates r {flags}"))
            .file("b/settings.csv", SETTINGS)
            .file("b/sellers.csv", sellers)
            .file("r/gb/charges.csv", &ended)
            .file("l.csv", format!("{header}{rows}"))
            .go()
            .ends(0)
    };
    let rows = "2026-02-21,Taolin,TW,GBP,240.00,200,871495,TW,\n\
                2026-05-21,Taolin,TW,GBP,241.00,200,871496,TW,\n\
                2026-10-21,Taolin,TW,GBP,242.00,200,871496,TW,\n\
                2026-10-21,Taolin,TW,GBP,243.00,200,871495,TW,\n\
                2026-10-22,Taolin,TW,GBP,244.00,200,871495,TW,one\n\
                2026-10-22,Taolin,TW,GBP,245.00,200,871495,TW,one\n";
    for flags in ["", "--jobs 3"] {
        let ran = list(flags, rows);
        for (said, line, row) in [
            ("a fee (`old_fee`) ended 2026-03-31", "l.csv:3", 5),
            ("a duty (`old_levy`) ended 2026-06-30", "l.csv:5", 4),
        ] {
            assert_eq!(ran.err.matches(said).count(), 1, "{said}: {}", ran.err);
            let message = ran
                .err
                .split("warning")
                .find(|message| message.contains(said))
                .unwrap();
            assert!(
                message.contains(line) && message.contains(&format!("r/gb/charges.csv:{row}")),
                "{message}"
            );
        }
        assert!(!ran.err.contains("known_end"), "{}", ran.err);
    }
    // Before they ended they are in the sums, and nothing is said.
    assert_eq!(
        list("", rows.lines().next().unwrap())
            .err
            .matches(") ended ")
            .count(),
        0
    );
}
