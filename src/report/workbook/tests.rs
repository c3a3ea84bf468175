//! Workbooks calculated again: what their formulas come to, and whether what may be changed is live.

use super::formula::At;
use super::sheets::{Cell, Look};
use super::*;
use crate::book::{Book, BookFile};
use crate::landed::{Jurisdiction, Question, cost_at, workings};
use crate::tables::{File, Tables};
use crate::text::Problems;
use crate::units::{Date, Dec, HomeMoney};

/// The formulas, calculated exactly here, come to the engine's own total.
#[test]
fn formulas_come_to_the_tools_total() {
    let parts = "part,place,seller,price,currency,dispatch,quantity,freight,handling,insurance,mass_g\n\
        Wheels,wheels,Taolin,333.33,USD,TW,1,35,2.5 % min 12.50,1 %,1500\nSaddle,saddle,Taolin,10.05,USD,TW,3,35,2.5 % min 12.50,1 %,200\n\
        Bar,handlebar,Immerfeld,99.95,EUR,DE,1,,,,\n";
    let receipts = "consignment,charge,amount,currency,date\nTaolin,duty,11.11,GBP,2026-09-30\n\
        Taolin,to_pay_carrier,77.77,USD,2026-09-30\nTaolin,freight,31.35,USD,2026-09-24\n\
        Immerfeld,to_pay_seller,91.01,EUR,2026-09-25\nImmerfeld,refund,3.33,EUR,2026-10-01\n\
        Taolin,refund,20.01,USD,2026-10-01\nTaolin,refund of duty,1.11,GBP,2026-10-01\nTaolin,discount,2000.00,USD,2026-10-01\n";
    let summed = "consignment,charge,amount,currency,date\nTaolin,duty,11.11,GBP,2026-09-30\nTaolin,handling,66.66,GBP,2026-09-30\n\
        Taolin,to_pay_carrier,77.77,GBP,2026-09-30\nTaolin,goods,350.00,USD,2026-09-24\nTaolin,freight,31.35,USD,2026-09-24\n\
        Taolin,to_pay_seller,381.35,USD,2026-09-24\n";
    // one part is sent back; the other parcel is lost on its way
    let lost = "consignment,charge,amount,currency,date,part\nTaolin,refund,30.15,USD,2026-10-01,Saddle\n\
        Taolin,return freight,9.99,USD,2026-10-01,Saddle\nTaolin,handling,14.00,GBP,2026-10-01,\nTaolin,refund,333.33,USD,2026-10-01,Wheels\n";
    let on_order = parts
        .replace("part,place", "standing,part,place")
        .replace("\nWheels", "\non-order,Wheels")
        .replace("\nSaddle", "\non-order,Saddle");
    let on_order = on_order
        .replace("\nBar", "\non-order,Bar")
        .replace("mass_g\n", "mass_g,paid\n")
        .replace("1500\n", "1500,300\n")
        .replace("200\n", "200,30\n");
    let on_order = on_order.replace(",,,,\n", ",,,,,85\n");
    let mut problems = Problems::new();
    for files in [
        vec![file("parts", parts)],
        vec![file("parts", parts), file("receipts", receipts)],
        vec![file("parts", parts), file("receipts", summed)],
        vec![file("parts", parts), file("receipts", lost)],
        vec![file("parts", &on_order), file("receipts", lost)],
    ] {
        come_to_the_tools_total(Book::read(&files, &mut problems));
    }
    assert!(!problems.refuse(), "{problems:?}");
}

fn file(table: &str, text: &str) -> BookFile {
    BookFile {
        path: format!("{table}.csv"),
        table: table.into(),
        bytes: text.into(),
    }
}

/// What a book comes to at its settings, ordered on one day.
fn with<T>(book: &Book, look: impl FnOnce(&Landed, &[Working<'_>]) -> T) -> T {
    by_tables(book, Vec::new(), look)
}

/// The same with tables of the user's own.
fn by_tables<T>(book: &Book, own: Vec<File>, look: impl FnOnce(&Landed, &[Working<'_>]) -> T) -> T {
    let mut problems = Problems::new();
    let tables = Tables::load(own, &mut problems);
    assert!(!problems.refuse(), "{problems:?}");
    let ask = Question::new(&book.settings, Date::parse("2026-09-23").unwrap()).unwrap();
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let landed = cost_at(book, &jurisdiction).unwrap();
    look(&landed, &workings(book, &jurisdiction).unwrap())
}

/// The sum in the row of all parcels together.
fn total_of(sheets: &Sheets) -> Dec {
    let cells = &sheets.leaves[0].cells;
    let last = |cell: &Cell| matches!(cell, Cell::Label(text) if text == "together");
    let own = cells
        .iter()
        .find(|((_, col), (cell, _))| *col == 0 && last(cell));
    let ((row, _), _) = own.unwrap();
    match &cells[&(*row, 11)] {
        (Cell::Formula(_, total), _) => *total,
        (cell, _) => panic!("no total: {cell:?}"),
    }
}

/// A bill that comes to another sum than the formulas is a defect: no workbook is made, and both figures are told.
fn differences_are_refused(mut landed: Landed, works: &[Working<'_>]) {
    let duty = landed.bills[0].amounts.duty;
    for amounts in [&mut landed.bills[0].amounts, &mut landed.totals.amounts] {
        amounts.duty = amounts.duty.plus(HomeMoney::of(Dec::from(7_u32))).unwrap();
    }
    let digits = landed.currency.digits();
    let (id, now) = (&landed.bills[0].id, landed.bills[0].amounts.duty);
    let named = format!(
        "{id}, duty: {} and not {};",
        duty.amount().grouped(digits),
        now.amount().grouped(digits)
    );
    let said = workbook(&landed, works).unwrap_err();
    for words in [&named, "all together, lands at: ", "please report it"] {
        assert!(said.contains(words), "{words}: {said}");
    }
}

/// However long a parcel is, no formula is: spreadsheets refuse those of more than 8,192 letters, and nobody reads them.
#[test]
fn formulas_are_short_however_long_the_parcel() {
    let mut parts = String::from(
        "part,place,seller,price,currency,dispatch,origin,commodity,freight,insurance,mass_g\n",
    );
    for part in 1..=150 {
        let (origin, digits) = (
            ["CN", "TW"][part % 2],
            ["87149110", "87149990"][part / 2 % 2],
        );
        parts +=
            &format!("Part {part},spare,Taolin,{part}.37,USD,TW,{origin},{digits},35,1 %,{part}\n");
    }
    let sellers = "seller,prices_include,free_freight_over\nTaolin,22,20000\n";
    let discounts = "code,seller,scope,part,percent,max_off,group,min_spend,pays\nA,Taolin,basket,,10,90,one,50,\n\
        B,Taolin,basket,,5,,one,,\nC,Taolin,item,Part 7,5,,,,credit\nD,Taolin,freight,,5,,,,\n";
    let files = [
        ("parts", &*parts),
        ("sellers", sellers),
        ("discounts", discounts),
    ];
    let mut problems = Problems::new();
    let mut book = Book::read(&files.map(|(table, text)| file(table, text)), &mut problems);
    assert!(!problems.refuse(), "{problems:?}");
    for to in ["GB", "DE", "JP"] {
        book.settings.set("destination", to).unwrap();
        let sheets = with(&book, |landed, works| laid_out(landed, works).unwrap());
        let leaves = sheets.leaves.iter().enumerate();
        let formulas: Vec<String> = leaves
            .flat_map(|(at, leaf)| leaf.cells.values().map(move |(cell, _)| (at, cell)))
            .filter_map(|(at, cell)| match cell {
                Cell::Formula(formula, _) => Some(formula.text(at, &sheets)),
                _ => None,
            })
            .collect();
        let longest = formulas.iter().max_by_key(|text| text.len()).unwrap();
        assert!(longest.len() <= 1_000, "to {to}: {longest}");
        assert!(formulas.len() > 10_000, "{}", formulas.len());
    }
}

fn come_to_the_tools_total(mut book: Book) {
    book.settings.set("card_fee", "2.75").unwrap();
    for to in ["GB", "DE", "US", "JP", "AU", "CH"] {
        book.settings.set("destination", to).unwrap();
        with(&book, |landed, works| {
            let total = total_of(&laid_out(landed, works).unwrap());
            assert_eq!(total, landed.totals.landed().unwrap().amount(), "to {to}");
            assert!(total > Dec::from(100_u32));
            differences_are_refused(landed.clone(), works);
        });
    }
}

/// A seller with terms of every kind: discounts of a group, with a least spend, at most so much, off the freight and by credit.
const TERMS: [(&str, &str); 4] = [
    (
        "parts",
        "part,place,seller,price,quantity,mass_g\nWheels,wheels,Taolin,333.33,1,1500\nSaddle,saddle,Taolin,10.05,3,200\n",
    ),
    (
        "sellers",
        "seller,dispatch,currency,freight,free_freight_over,insurance,prices_include\nTaolin,TW,USD,35,400,1 %,22\n",
    ),
    (
        "discounts",
        "code,seller,scope,percent,amount,currency,min_spend,max_off,group,pays\nSPRING,Taolin,basket,10,,,350,20,one,\n\
         EARLY,Taolin,basket,5,,,,,one,\nPOINTS,Taolin,basket,,12.34,USD,,,,credit\nPORT,Taolin,freight,20,,,,,,\n",
    ),
    (
        "settings",
        "setting,value\ndestination,GB\ncard_fee,2.75 %\n",
    ),
];

/// A figure of the workbook and its new value; the table of the book, and what stands in the place of what in it.
const CHANGES: &str = "\
    price of Wheels|500|parts|333.33|500\n\
    price of Wheels|300|parts|333.33|300\n\
    pieces of Saddle|4|parts|,3,|,4,\n\
    discount SPRING, percent|5.2|discounts|,10,|,5.2,\n\
    discount SPRING, at most|25|discounts|,20,one|,25,one\n\
    discount SPRING, least spend|400|discounts|,350,|,400,\n\
    discount EARLY, percent|50|discounts|,5,|,50,\n\
    discount POINTS, amount|50|discounts|12.34|50\n\
    discount PORT, percent|60|discounts|freight,20|freight,60\n\
    freight asked|70|sellers|,35,|,70,\n\
    free from this on|360|sellers|,400,|,360,\n\
    insurance, percent|2.5|sellers|,1 %|,2.5 %\n\
    the seller's own tax in the prices, percent|19|sellers|,22|,19\n\
    card fee, percent|1.5|settings|2.75|1.5";

/// The sheets and the landed sum of a book in which one text stands for another.
fn told(book: &[(&str, &str)], table: &str, from: &str, to: &str) -> (Sheets, Dec) {
    let mut problems = Problems::new();
    let text_of = |own: &str, text: &str| {
        assert!(own != table || text.matches(from).count() == 1, "{from}");
        if own == table {
            text.replace(from, to)
        } else {
            text.into()
        }
    };
    // a freight table is none of a book's tables, and lies among the rates
    let (rates, tables): (Vec<_>, Vec<_>) = book.iter().partition(|(own, _)| *own == "freight");
    let files: Vec<BookFile> = tables
        .iter()
        .map(|(own, text)| file(own, &text_of(own, text)))
        .collect();
    let own = rates.iter().map(|(own, text)| File {
        path: "own/freight.csv".to_owned(),
        name: "freight.csv".to_owned(),
        bytes: text_of(own, text).into_bytes().into(),
        users: true,
    });
    let book = Book::read(&files, &mut problems);
    assert!(!problems.refuse(), "{problems:?}");
    by_tables(&book, own.collect(), |landed, works| {
        let total = landed.totals.landed().unwrap().amount();
        (laid_out(landed, works).unwrap(), total)
    })
}

/// What the formulas come to after a figure was changed: calculated again until nothing moves.
fn recalculated(changed: &Sheets) -> Dec {
    settled(changed).unwrap()
}

fn settled(changed: &Sheets) -> Made<Dec> {
    let mut leaves = changed.leaves.clone();
    for _ in 0..50 {
        let mut sheets = Sheets::default();
        sheets.leaves = leaves;
        let mut moved = false;
        for sheet in (0..sheets.leaves.len()).rev() {
            let mut cells: Vec<(u32, u16)> = sheets.leaves[sheet].cells.keys().copied().collect();
            cells.sort_by_key(|(row, col)| (*row, std::cmp::Reverse(*col)));
            for (row, col) in cells {
                let at = At { sheet, row, col };
                let Some(Cell::Formula(formula, before)) = sheets.get(at).cloned() else {
                    continue;
                };
                let now = formula.value(&sheets)?;
                moved = moved || now != before;
                sheets.put(at, Cell::Formula(formula, now), Look::Plain);
            }
        }
        if !moved {
            return Ok(total_of(&sheets));
        }
        leaves = sheets.leaves;
    }
    panic!("the formulas never come to rest");
}

/// Every term of a seller may be changed in the workbook, which then comes to what the tool says of the changed book.
#[test]
fn the_sellers_terms_are_live() {
    are_live(&TERMS, CHANGES);
}

/// A parcel by a freight table whose mass lies close below a step, in boxes that are large for their mass, with goods that
/// have something else in their box: 2 wheels of 700 g, 3 saddles of 200 g and once 30 g, 10 % and 150 g of packing.
const BY_MASS: [(&str, &str); 4] = [
    (
        "parts",
        "part,place,seller,price,quantity,mass_g,box_cm,comes_with,standing\nWheels,wheels,Taolin,333.33,2,700,40x40x10,,to-order\n\
         Saddle,saddle,Taolin,10.05,3,200,,,to-order\nClamp,rail-clamp,,,1,30,,Saddle,bundled\n",
    ),
    (
        "sellers",
        "seller,dispatch,currency,freight,free_freight_over,channel\nTaolin,TW,USD,own-post,800,post\n",
    ),
    ("settings", "setting,value\ndestination,GB\n"),
    (
        "freight",
        "schedule,up_to_g,price,currency,pro_rata,extra_per_kg,volumetric_divisor,packing_percent,packing_g,valid_from,certainty,evidence,source\n\
         own-post,1000,11.00,USD,,,20000,10,150,2026-01-01,certain,inferred,invented\n\
         own-post,2500,24.50,USD,,,20000,10,150,2026-01-01,certain,inferred,invented\n\
         own-post,4000,41.07,USD,yes,,20000,10,150,2026-01-01,certain,inferred,invented\n\
         own-post,4300,60.00,USD,,7.50,20000,10,150,2026-01-01,certain,inferred,invented\n",
    ),
];

/// More pieces, which are heavier than a step, than the table, or worth so much that they travel free; and each figure of the
/// table.
const MASSES: &str = "\
    pieces of Saddle|1|parts|10.05,3,200|10.05,1,200\n\
    pieces of Saddle|5|parts|10.05,3,200|10.05,5,200\n\
    pieces of Saddle|8|parts|10.05,3,200|10.05,8,200\n\
    pieces of Saddle|11|parts|10.05,3,200|10.05,11,200\n\
    pieces of Saddle|12|parts|10.05,3,200|10.05,12,200\n\
    pieces of Saddle|20|parts|10.05,3,200|10.05,20,200\n\
    pieces of Wheels|1|parts|333.33,2,700|333.33,1,700\n\
    free from this on|690|sellers|,800,|,690,\n\
    freight table own-post, up to 2500 g: it serves up to|2300|freight|,2500,|,2300,\n\
    freight table own-post, up to 2500 g: price|25.90|freight|24.50|25.90\n\
    freight table own-post: packing, percent|17.3|freight|own-post,1000,11.00,USD,,,20000,10,150|own-post,1000,11.00,USD,,,20000,17.3,150\n\
    freight table own-post: packing|1800|freight|own-post,1000,11.00,USD,,,20000,10,150|own-post,1000,11.00,USD,,,20000,10,1800\n\
    freight table own-post: cubic centimetres to the kilogram|9000|freight|own-post,1000,11.00,USD,,,20000,10,150|own-post,1000,11.00,USD,,,9000,10,150";

/// Quantities, thresholds and freight tables may be changed, and masses and freight follow.
#[test]
fn quantities_and_freight_tables_are_live() {
    are_live(&BY_MASS, MASSES);
}

/// Heavier than a table that ends: nobody has said what that costs, and the sheet says so instead of a sum.
#[test]
fn what_a_freight_table_does_not_reach_is_unknown() {
    let (mut sheets, _) = told(&BY_MASS, "freight", ",7.50,", ",,");
    let row = sheets.leaves[1]
        .cells
        .iter()
        .find_map(|((row, _), (cell, _))| {
            matches!(cell, Cell::Label(text) if text == "Saddle").then_some(*row)
        });
    let at = At {
        sheet: 1,
        row: row.unwrap(),
        col: 3,
    };
    sheets.figure(at, Dec::from(12_u32), Look::Typed);
    assert!(settled(&sheets).is_err());
    sheets.figure(at, Dec::from(5_u32), Look::Typed);
    assert!(settled(&sheets).is_ok());
}

/// Each change of a line, made in the sheets and in the book, comes to the same, and moves the sum.
fn are_live(book: &[(&str, &str)], changes: &str) {
    let (first, text) = book[0];
    let (sheets, total) = told(book, first, text, text);
    assert_eq!(recalculated(&sheets), total);
    let named = |what: &str| {
        let cells = &sheets.leaves[1].cells;
        let own = cells.iter().find(|((_, col), (cell, _))| {
            *col == 0 && matches!(cell, Cell::Label(text) if text == what)
        });
        let ((row, _), _) = own.unwrap_or_else(|| panic!("no figure {what}"));
        *row
    };
    let input = |row: u32, col: u16| At { sheet: 1, row, col };
    let mut found = std::collections::BTreeSet::from([total]);
    for line in changes.lines() {
        let change: Vec<&str> = line.split('|').collect();
        let [what, to, table, from, into] = change[..] else {
            panic!("{line}")
        };
        let at = match what {
            what if what.starts_with("pieces of ") => {
                input(named(what.trim_start_matches("pieces of ")), 3)
            }
            what => input(named(what.trim_start_matches("price of ")), 1),
        };
        let (_, total) = told(book, table, from, into);
        let mut sheets = sheets.clone();
        sheets.figure(at, crate::units::number::plain(to).unwrap(), Look::Typed);
        assert_eq!(recalculated(&sheets), total, "{line}");
        assert!(found.insert(total), "nothing moves: {line}");
    }
}
