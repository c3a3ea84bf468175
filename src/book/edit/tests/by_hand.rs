//! Edits worked by hand: how cells are written, where rows go, and what is refused.

use super::super::*;
use super::{key, number, set_one, table, text};

#[track_caller]
fn becomes(before: &str, edit: &Edit, after: &str) {
    let new = edited(&table("parts", before), edit);
    let new = new.unwrap_or_else(|why| panic!("{edit:?}: {why:?}"));
    assert_eq!(String::from_utf8(new.bytes).unwrap(), after, "{edit:?}");
}

#[test]
fn a_cell_is_written_as_its_neighbours_are() {
    let bar = |before: &str, column: &str, value: Value, after: &str| {
        becomes(before, &set_one(key("part", "Bar"), column, value), after);
    };
    // a decimal comma where the column has one, and where it has no decimals but the table has
    bar(
        "part;price\nBar;1,50\n",
        "price",
        number("12.25"),
        "part;price\nBar;12,25\n",
    );
    bar(
        "part;price;mass_g\nBar;1,50;\n",
        "mass_g",
        number("0.5"),
        "part;price;mass_g\nBar;1,50;0,5\n",
    );
    bar(
        "part;price\nBar;1.50\n",
        "price",
        number("12.25"),
        "part;price\nBar;12.25\n",
    );
    bar(
        "part,price\nBar,1.50\n",
        "price",
        number("12.25"),
        "part,price\nBar,12.25\n",
    );
    // three decimals behind a comma could be thousands
    bar(
        "part;price\nBar;1,50\n",
        "price",
        number("1.299"),
        "part;price\nBar;1,2990\n",
    );
    // the same number is left as it is written
    bar(
        "part;price\nBar;1 299,50\n",
        "price",
        number("1299.5"),
        "part;price\nBar;1 299,50\n",
    );
    // quoted where the column is, and the blanks of a table in columns stay
    bar(
        "part,price\n\"Bar\",\"1\"\nStem,\n",
        "price",
        number("2"),
        "part,price\n\"Bar\",\"2\"\nStem,\n",
    );
    bar(
        "part , price\nBar  ,  1.50 \n",
        "price",
        number("2"),
        "part , price\nBar  ,  2 \n",
    );
    // by its second name, and behind the others where the table lacks it
    bar(
        "part,mass_g\nBar,1\n",
        "Weight (g)",
        number("2"),
        "part,mass_g\nBar,2\n",
    );
    bar(
        "part,mine\nBar,x\nStem\n",
        "qty",
        number("2"),
        "part,mine,quantity\nBar,x,2\nStem\n",
    );
    bar(
        "part,mine\nBar,x\n",
        "mine",
        text("y"),
        "part,mine\nBar,y\n",
    );
}

#[test]
fn a_new_table_begins_with_its_header() {
    let cells = vec![
        ("part".to_owned(), text("#1")),
        ("mass_g".to_owned(), text("")),
    ];
    let row = Edit::Add(cells);
    becomes("", &row, "part,mass_g,place\n\"#1\",,\n");
    becomes("# mine", &row, "# mine\npart,mass_g,place\n\"#1\",,\n");
}

#[track_caller]
fn refused(before: &str, edit: &Edit, place: &str, why: &str) {
    let refused = edited(&table("parts", before), edit).unwrap_err();
    let found = format!("{} {}", refused.place.as_ref().unwrap(), refused.message);
    assert!(
        found.contains(place) && found.contains(why),
        "{edit:?}: {found}"
    );
}

#[test]
fn what_cannot_be_done_is_refused_where_it_stands() {
    let parts = "part,price\nBar,1\nBar,2\nStem,3\n";
    let price = |find: Find, value: Value| set_one(find, "price", value);
    let of = |line: usize| price(Find::Line(line), text("5"));
    let several = "2 rows say `Bar` in `part`: lines 2 and 3";
    refused(
        parts,
        &price(key("part", "Bar"), text("5")),
        "parts.csv:2",
        several,
    );
    refused(
        parts,
        &price(key("part", "Stm"), text("5")),
        "parts.csv:1",
        "no row says `Stm`",
    );
    refused(parts, &of(9), "parts.csv:9", "no row of the table begins");
    let unknown = set_one(Find::Line(4), "prise", text("5"));
    refused(parts, &unknown, "parts.csv:1", "has no column `prise`");
    refused(
        parts,
        &price(Find::Line(4), text("5\0")),
        "parts.csv:4",
        "the sign with the number 0",
    );
    refused(
        parts,
        &price(Find::Line(4), number("5,0")),
        "parts.csv:4",
        "expected a decimal number",
    );
    let stray = "text follows a quotation mark";
    refused("part,price\n\"Bar\" x,1\n", &of(2), "parts.csv:2", stray);
    refused(
        "part,price\nBar,1,x\n",
        &of(2),
        "parts.csv:2",
        "more fields than the header",
    );
    let note = set_one(Find::Line(2), "note", text("5"));
    refused(
        "part,price\nStem,1\nBar,1,x\n",
        &note,
        "parts.csv:3",
        "more fields than the header",
    );
    let blank = set_one(Find::Line(2), "part", text(" "));
    refused(
        "part,price\nBar,\n",
        &blank,
        "parts.csv:2",
        "the row would say nothing",
    );
    let row = |part: &str| Edit::Add(vec![("part".to_owned(), text(part))]);
    refused(
        "part,price\n\"Bar,1\n",
        &row("x"),
        "parts.csv",
        "only this cell or row",
    );
    refused(parts, &row(" "), "parts.csv:1", "says nothing");
    let mut sheet = table("parts", parts);
    sheet.path = "build.xlsx, sheet parts".to_owned();
    let refused = edited(&sheet, &Edit::Remove(Find::Line(2))).unwrap_err();
    assert!(refused.message.contains("workbook"), "{refused:?}");
}
