//! Import sums as authorities print them, each through the engine with the rows of `rates/`.
//!
//! A figure comes out exactly, or within a stated tolerance, or cannot be expressed, with the reason. Which it is stands in
//! `expected/worked_examples.txt`, a line for each figure, so that nothing is passed over in silence.

use std::collections::{BTreeMap, BTreeSet};

use landwaiter::landed::Bill;
use landwaiter::tables::Tables;
use landwaiter::units::{Dec, HomeMoney};

use super::{ask, bill, built_in, dec, expect, oracle, row, tables};
use crate::small::home;

/// How one figure came out.
enum Came {
    /// The same to the last digit.
    Exactly,
    /// Within this much, and why.
    Within(&'static str, &'static str),
    /// Not at all, and why.
    Not(&'static str),
}

struct Figure {
    example: &'static str,
    what: String,
    published: String,
    ours: String,
    came: Came,
}

/// The figures of all examples of one file.
struct Sums {
    rows: Vec<BTreeMap<String, String>>,
    figures: Vec<Figure>,
}

impl Sums {
    fn of(file: &str) -> Sums {
        Sums {
            rows: oracle(file),
            figures: Vec::new(),
        }
    }

    /// A figure of the Union's file, by column.
    fn cell(&self, example: &str, column: &str) -> Dec {
        let row = self
            .rows
            .iter()
            .find(|row| row["id"] == example)
            .unwrap_or_else(|| panic!("no {example}"));
        dec(&row[column])
    }

    /// A figure of the other file, by its place in the example.
    fn at(&self, example: &str, seq: u32) -> Dec {
        let wanted = seq.to_string();
        let row = self
            .rows
            .iter()
            .find(|row| row["example_id"] == example && row["seq"] == wanted);
        dec(&row.unwrap_or_else(|| panic!("no {example} {seq}"))["value"])
    }

    /// A figure that must be the same.
    fn same(&mut self, example: &'static str, what: &str, published: Dec, ours: Dec) {
        assert_eq!(published, ours, "{example}: {what}");
        self.note(
            example,
            what,
            published.to_string(),
            ours.to_string(),
            Came::Exactly,
        );
    }

    /// A figure that must be the same within a tolerance.
    fn near(
        &mut self,
        example: &'static str,
        what: &str,
        (published, ours): (Dec, Dec),
        within: &'static str,
        why: &'static str,
    ) {
        let away = published.minus(ours).unwrap().abs();
        assert!(
            away <= dec(within),
            "{example}: {what}: {published} published, {ours} reckoned"
        );
        self.note(
            example,
            what,
            published.to_string(),
            ours.to_string(),
            Came::Within(within, why),
        );
    }

    fn not(&mut self, example: &'static str, what: &str, why: &'static str) {
        self.note(example, what, String::new(), String::new(), Came::Not(why));
    }

    fn note(
        &mut self,
        example: &'static str,
        what: &str,
        published: String,
        ours: String,
        came: Came,
    ) {
        self.figures.push(Figure {
            example,
            what: what.to_owned(),
            published,
            ours,
            came,
        });
    }
}

/// One row of a book for a parcel; what is not given is left to the defaults.
fn parts(rows: &[&str]) -> String {
    let header = "part,place,seller,price,currency,dispatch,origin,commodity,declared_as,quantity,freight,insurance,sender,standing,collects_tax,channel,mass_g,traits";
    rows.iter()
        .fold(format!("{header}\n"), |text, row| text + row + "\n")
}

fn taxes(bill: &Bill) -> Dec {
    let a = &bill.amounts;
    HomeMoney::total([a.duty, a.remedy, a.tax().unwrap()])
        .unwrap()
        .amount()
}

fn total(one: Dec, other: Dec) -> Dec {
    one.plus(other).unwrap()
}

#[test]
fn sums_printed_for_the_union_and_elsewhere() {
    let mut union = Sums::of("eu_worked_examples.csv");
    netherlands(&mut union);
    at_the_sale(&mut union);
    estonia(&mut union);
    three_euro(&mut union);
    authorised_use(&mut union);
    let mut others = Sums::of("other_worked_examples.csv");
    norway(&mut others);
    switzerland(&mut others);
    antipodes(&mut others);
    singapore(&mut others);
    united_states(&mut others);
    japan(&mut others);
    nothing_is_passed_over(&union, "id");
    nothing_is_passed_over(&others, "example_id");
    let text = told(&union, "eu_worked_examples.csv", "id")
        + "\n"
        + &told(&others, "other_worked_examples.csv", "example_id");
    println!("{text}");
    expect("tests/it/expected/worked_examples.txt", &text);
}

fn nothing_is_passed_over(sums: &Sums, column: &str) {
    let published: BTreeSet<&str> = sums.rows.iter().map(|row| row[column].as_str()).collect();
    let tried: BTreeSet<&str> = sums.figures.iter().map(|figure| figure.example).collect();
    assert_eq!(published, tried);
}

fn told(sums: &Sums, file: &str, column: &str) -> String {
    let mut out = format!(
        "{file}\n\n{:<6} {:<46} {:>9} {:>9}  {}\n",
        "id", "figure", "published", "reckoned", "came out"
    );
    let (mut exactly, mut within, mut not) = (0, 0, 0);
    let mut source = String::new();
    for figure in &sums.figures {
        let own = sums
            .rows
            .iter()
            .find(|row| row[column] == figure.example)
            .map(|row| row["source"].clone())
            .unwrap_or_default();
        if own != source && own != "same" {
            source = own;
            out.push_str(&format!("{source}\n"));
        }
        let came = match &figure.came {
            Came::Exactly => {
                exactly += 1;
                "exactly".to_owned()
            }
            Came::Within(most, why) => {
                within += 1;
                format!("within {most}: {why}")
            }
            Came::Not(why) => {
                not += 1;
                format!("not expressible: {why}")
            }
        };
        let line = format!(
            "{:<6} {:<46} {:>9} {:>9}  {came}",
            figure.example, figure.what, figure.published, figure.ours
        );
        out.push_str(&(line.trim_end().to_owned() + "\n"));
    }
    out + &format!("{exactly} exactly, {within} within a tolerance, {not} not expressible\n")
}

/// Two days on which an example of the Netherlands still holds: its first, and one of today's tables.
const TWO_DAYS: [&str; 2] = ["2021-07-01", "2026-11-20"];

fn netherlands(sums: &mut Sums) {
    let handbag = tables(&[(
        "eu/tariff.csv",
        "layer,commodity,origin,percent,valid_from\nmfn,420222,*,3,2021-01-01\n",
    )]);
    for on in TWO_DAYS {
        let book =
            parts(&["Handbag,frame,Shop,199,EUR,CN,CN,420222,,1,25,10,business,,no,courier,500,"]);
        let bill = bill(&book, &handbag, &ask("NL", on, &[]));
        let base = total(
            Dec::total([dec("199"), dec("25"), dec("10")]).unwrap(),
            bill.amounts.duty.amount(),
        );
        for (what, column, ours) in [
            (
                "customs value",
                "customs_value",
                bill.customs_value.amount(),
            ),
            ("duty", "duty", bill.amounts.duty.amount()),
            ("VAT base", "vat_base", base),
            ("VAT", "vat", bill.amounts.tax_at_border.amount()),
            (
                "total paid",
                "total_paid",
                bill.amounts.landed().unwrap().amount(),
            ),
        ] {
            let published = sums.cell("NL-1", column);
            sums.same("NL-1", &format!("{what}, {on}"), published, ours);
        }
        sums.same("NL-1", &format!("taxes, {on}"), dec("57.63"), taxes(&bill));
        let book =
            parts(&["Suit,frame,Uncle,200,EUR,HK,HK,620311,,1,25,10,gift,given,no,courier,900,"]);
        let bill = super::bill(&book, built_in(), &ask("NL", on, &[]));
        for (what, column, ours) in [
            (
                "customs value",
                "customs_value",
                bill.customs_value.amount(),
            ),
            (
                "duty, flat rate for gifts",
                "duty",
                bill.amounts.duty.amount(),
            ),
            (
                "VAT base",
                "vat_base",
                total(bill.customs_value.amount(), bill.amounts.duty.amount()),
            ),
            ("VAT", "vat", bill.amounts.tax_at_border.amount()),
            (
                "value and taxes",
                "total_paid",
                total(bill.customs_value.amount(), taxes(&bill)),
            ),
        ] {
            let published = sums.cell("NL-3", column);
            sums.same("NL-3", &format!("{what}, {on}"), published, ours);
        }
        sums.same("NL-3", &format!("taxes, {on}"), dec("56.45"), taxes(&bill));
    }
    for on in ["2021-01-04", "2021-06-30"] {
        let book =
            parts(&["Cup,frame,Shop,21,EUR,CN,CN,691110,,1,25,10,business,,no,courier,500,"]);
        let bill = bill(&book, built_in(), &ask("NL", on, &[]));
        for (what, column, ours) in [
            (
                "customs value",
                "customs_value",
                bill.customs_value.amount(),
            ),
            ("duty", "duty", bill.amounts.duty.amount()),
            ("VAT", "vat", bill.amounts.tax_at_border.amount()),
            (
                "total paid",
                "total_paid",
                bill.amounts.landed().unwrap().amount(),
            ),
        ] {
            let published = sums.cell("NL-4", column);
            sums.same("NL-4", &format!("{what}, {on}"), published, ours);
        }
    }
}

fn at_the_sale(sums: &mut Sums) {
    let book = parts(&["Bell,frame,Shop,140,EUR,CN,CN,830610,,1,0,0,business,,yes,courier,100,"]);
    for (to, on) in [("AT", "2021-07-01"), ("FR", "2026-06-30")] {
        let bill = bill(&book, built_in(), &ask(to, on, &[]));
        let at = format!("{to} {on}");
        for (what, column, ours) in [
            ("VAT at the sale", "vat", bill.amounts.tax_at_sale.amount()),
            (
                "total paid",
                "total_paid",
                bill.amounts.landed().unwrap().amount(),
            ),
        ] {
            let published = sums.cell("EC-1", column);
            sums.same("EC-1", &format!("{what}, {at}"), published, ours);
        }
        sums.same(
            "EC-1",
            &format!("intrinsic value, {at}"),
            dec("140"),
            bill.intrinsic_value.amount(),
        );
        sums.same(
            "EC-1",
            &format!("VAT at the border, {at}"),
            Dec::ZERO,
            bill.amounts.tax_at_border.amount(),
        );
    }
    let now = bill(&book, built_in(), &ask("FR", "2026-07-01", &[]));
    let published = total(sums.cell("EC-1", "total_paid"), dec("3"));
    sums.same(
        "EC-1",
        "total with 3 EUR an item, FR 2026-07-01",
        published,
        now.amounts.landed().unwrap().amount(),
    );
}

fn estonia(sums: &mut Sums) {
    let book = parts(&["Cup,frame,Shop,5,EUR,CN,CN,691110,,1,1,0,business,,no,courier,500,"]);
    for on in ["2021-07-01", "2023-12-31"] {
        let bill = bill(&book, built_in(), &ask("EE", on, &[]));
        for (what, column, ours) in [
            ("VAT", "vat", bill.amounts.tax_at_border.amount()),
            (
                "total paid",
                "total_paid",
                bill.amounts.landed().unwrap().amount(),
            ),
        ] {
            let published = sums.cell("EE-1", column);
            sums.same("EE-1", &format!("{what}, {on}"), published, ours);
        }
    }
    let book = parts(&["Cup,frame,Aunt,20,EUR,US,US,691110,,1,4,0,gift,given,no,courier,500,"]);
    let bill = bill(&book, built_in(), &ask("EE", "2026-11-20", &[]));
    let published = sums.cell("EE-2", "vat");
    sums.same(
        "EE-2",
        "VAT",
        published,
        bill.amounts.tax_at_border.amount(),
    );
    let published = sums.cell("EE-2", "total_paid");
    sums.same(
        "EE-2",
        "value and taxes",
        published,
        total(bill.customs_value.amount(), taxes(&bill)),
    );
}

/// 3 EUR for each declared item.
fn three_euro(sums: &mut Sums) {
    let item = |name: &str, digits: &str, what: &str, pieces: u32| {
        format!(
            "{name},frame,Shop,20,EUR,CN,CN,{digits},{what},{pieces},0,0,business,,no,courier,200,"
        )
    };
    let silk = [
        item("Silk blouse", "620610", "blouse", 1),
        item("Wool blouse", "620620", "blouse", 2),
    ];
    let shirts = [item("Shirt", "610910", "T-shirt", 5)];
    let watch = [
        item("Shirt", "610910", "T-shirt", 1),
        item("Watch", "910211", "watch", 1),
    ];
    let two = [item("Shirt", "610910", "T-shirt", 2)];
    let cases: [(&'static str, &str, &[String]); 4] = [
        ("CO-1", "DE", &silk),
        ("EC-3", "DE", &shirts),
        ("EC-4", "DE", &watch),
        ("IE-2", "IE", &two),
    ];
    for on in ["2026-07-01", "2028-06-30"] {
        for (example, to, rows) in cases {
            let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
            let bill = bill(&parts(&rows), built_in(), &ask(to, on, &[]));
            let published = sums.cell(example, "flat_duty");
            sums.same(
                example,
                &format!("duty, {to} {on}"),
                published,
                bill.amounts.duty.amount(),
            );
        }
    }
    let rows = [
        item("Case", "392690", "phone case", 1),
        item("Jumper", "611020", "jumper", 1),
    ];
    let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
    let bill = bill(&parts(&rows), built_in(), &ask("SE", "2026-11-20", &[]));
    // 11.0975 is the rate of November 2026 in eu_customs_month_rates_derived.csv.
    let euro = bill.amounts.duty.over(dec("11.0975")).unwrap();
    let published = sums.cell("SE-1", "flat_duty");
    let euro = euro.amount().round_to(4, landwaiter::units::Mode::HalfUp);
    sums.near(
        "SE-1",
        "duty in EUR, SE 2026-11-20",
        (published, euro),
        "0.001",
        "charged as 66.59 SEK, rounded to the öre",
    );
}

fn authorised_use(sums: &mut Sums) {
    let bar = |use_: &str| {
        parts(&[&format!(
            "Bar,handlebar,Shop,400,EUR,CN,CN,,,1,0,0,business,,no,courier,200,{use_}"
        )])
    };
    for (use_, published) in [("end_use=authorised", "0"), ("", "194")] {
        let bill = bill(&bar(use_), built_in(), &ask("FI", "2025-10-16", &[]));
        let what = if use_.is_empty() {
            "anti-dumping on 400 (own sum), no authorisation"
        } else {
            "anti-dumping on 400 (own sum), authorised"
        };
        sums.same("AD-1", what, dec(published), bill.amounts.remedy.amount());
    }
    sums.not(
        "AD-1",
        "299 or 300 units a month",
        "the count over a month is no fact of one parcel; the user states the authorisation",
    );
}

fn norway(sums: &mut Sums) {
    let book =
        parts(&["Frame,frame,Shop,20000,NOK,GB,GB,871491,,1,850,500,business,,no,courier,1000,"]);
    let bill = bill(&book, built_in(), &ask("NO", "2024-12-23", &[]));
    for (seq, what, ours) in [
        (4, "duty", bill.amounts.duty),
        (5, "VAT base", bill.customs_value),
        (6, "VAT", bill.amounts.tax_at_border),
        (7, "total", bill.amounts.landed().unwrap()),
    ] {
        let published = sums.at("NO-1", seq);
        sums.same("NO-1", what, published, ours.amount());
    }
    let book = parts(&["Coat,frame,Shop,351,NOK,GB,GB,611020,,1,0,0,business,,no,courier,1000,"]);
    let bill = super::bill(&book, built_in(), &ask("NO", "2016-08-15", &[]));
    for (seq, what, ours) in [
        (3, "duty", bill.amounts.duty.amount()),
        (4, "VAT", bill.amounts.tax_at_border.amount()),
        (5, "total", bill.amounts.landed().unwrap().amount()),
    ] {
        let published = sums.at("NO-3", seq);
        sums.same("NO-3", what, published, ours);
    }
    let shop = |shirts: u32| {
        parts(&[
            "Book,frame,Shop,500,NOK,GB,GB,4901,,1,100,25,business,,no,courier,500,",
            &format!(
                "Shirt,frame,Shop,200,NOK,GB,GB,610910,,{shirts},100,25,business,,no,courier,200,"
            ),
        ])
    };
    let bill = super::bill(&shop(1), built_in(), &ask("NO", "2020-02-03", &[]));
    let tested = bill
        .limits
        .iter()
        .find(|limit| limit.id == "old_350")
        .unwrap();
    let published = sums.at("NO-4", 4);
    sums.same(
        "NO-4",
        "value tested, book and one shirt",
        published,
        tested.value.amount(),
    );
    let published = sums.at("NO-4", 5);
    sums.same(
        "NO-4",
        "charges, book and one shirt",
        published,
        bill.amounts.at_door().unwrap().amount(),
    );
    let bill = super::bill(&shop(2), built_in(), &ask("NO", "2020-02-03", &[]));
    let tested = bill
        .limits
        .iter()
        .find(|limit| limit.id == "old_350")
        .unwrap();
    sums.same(
        "NO-4",
        "value tested, book and two shirts",
        dec("525"),
        tested.value.amount(),
    );
    assert!(bill.amounts.tax_at_border.is_positive());
    sums.not(
        "NO-4",
        "VAT, book and two shirts",
        "not printed; its page puts all freight on the shirts, here freight goes by mass",
    );
}

fn switzerland(sums: &mut Sums) {
    let tax = |goods: u32, digits: &str| {
        let row =
            format!("Thing,frame,Shop,{goods},CHF,DE,DE,{digits},,1,0,0,business,,no,courier,500,");
        bill(&parts(&[&row]), built_in(), &ask("CH", "2025-03-03", &[]))
            .amounts
            .tax_at_border
    };
    for (seq, digits, what) in [
        (2, "871491", "largest base not taxed at 8.1 %"),
        (4, "490199", "largest base not taxed at 2.6 %"),
    ] {
        let published = sums.at("CH-2", seq);
        let largest = (1..300)
            .rev()
            .find(|goods| tax(*goods, digits).is_zero())
            .map(Dec::from)
            .unwrap();
        sums.same("CH-2", what, published, largest);
    }
}

fn antipodes(sums: &mut Sums) {
    let book = parts(&["Frame,frame,Shop,1000,NZD,US,US,,,1,100,0,business,,no,courier,1500,"]);
    let bill = bill(&book, built_in(), &ask("NZ", "2015-06-01", &[]));
    let base = total(bill.customs_value.amount(), dec("100"));
    let published = sums.at("NZ-1", 3);
    sums.same("NZ-1", "GST base", published, base);
    let published = sums.at("NZ-1", 4);
    sums.same(
        "NZ-1",
        "GST",
        published,
        bill.amounts.tax_at_border.amount(),
    );
    assert!(
        !bill.gaps.is_empty(),
        "the sum has no duty; here its want is named"
    );
    for on in ["2018-07-02", "2026-11-20"] {
        let book = parts(&["Frame,frame,Shop,1200,AUD,US,US,,,1,150,0,business,,no,courier,1500,"]);
        let bill = super::bill(&book, built_in(), &ask("AU", on, &[]));
        let base = HomeMoney::total([bill.customs_value, bill.amounts.duty, home("150")]).unwrap();
        for (seq, what, ours) in [
            (1, "customs value", bill.customs_value.amount()),
            (3, "duty", bill.amounts.duty.amount()),
            (5, "value of the taxable importation", base.amount()),
            (6, "GST", bill.amounts.tax_at_border.amount()),
            (7, "duty and GST", taxes(&bill)),
        ] {
            let published = sums.at("AU-1", seq);
            sums.same("AU-1", &format!("{what}, {on}"), published, ours);
        }
    }
}

fn singapore(sums: &mut Sums) {
    let gst = |goods: u32, freight: u32, on: &str| {
        let row = format!(
            "Shoes,frame,Shop,{goods},SGD,US,US,871491,,1,{freight},0,business,,no,courier,900,"
        );
        bill(&parts(&[&row]), built_in(), &ask("SG", on, &[]))
    };
    for (seq, goods) in [(3, 450), (5, 200)] {
        let published = sums.at("SG-1", seq);
        sums.same(
            "SG-1",
            &format!("GST on {goods}"),
            published,
            gst(goods, 0, "2022-06-01").amounts.tax_at_border.amount(),
        );
    }
    let bill = gst(390, 35, "2025-06-02");
    let published = sums.at("SG-3", 3);
    sums.same(
        "SG-3",
        "cost, insurance, freight",
        published,
        bill.customs_value.amount(),
    );
    let published = sums.at("SG-3", 5);
    sums.same(
        "SG-3",
        "GST",
        published,
        bill.amounts.tax_at_border.amount(),
    );
}

/// The rates of this example were struck down; laid over as a user's own, they give the printed sums.
fn struck_down() -> Tables {
    let head = "layer,commodity,origin,percent,valid_from,valid_to,certainty\n";
    let rates = ["GB,10", "FR,10", "BR,50"]
        .map(|rate| format!("ieepa,*,{rate},2025-08-29,2026-02-23,certain\n"))
        .concat();
    let charge = "charge,kind,order,level,of,rate_from,round,when,valid_from,valid_to,certainty\n\
        post_ieepa,duty,20,line,customs_value,tariff:ieepa,half_up 0.01,channel = post & goods <= 800 USD,2025-08-29,2026-02-23,certain\n";
    tables(&[
        ("us/tariff.csv", &(head.to_owned() + &rates)),
        ("us/charges.csv", charge),
    ])
}

fn united_states(sums: &mut Sums) {
    let rows = [
        "Frame,frame,Shop,47.00,USD,GB,GB",
        "Chain,chain,Shop,23.00,USD,GB,FR",
        "Saddle,saddle,Shop,45.00,USD,GB,BR",
    ];
    let rows = rows.map(|row| format!("{row},,,1,0,0,business,,no,post,500,"));
    let book = parts(&rows.each_ref().map(String::as_str));
    let asked = ask("US", "2025-09-15", &[]);
    let charged = bill(&book, &struck_down(), &asked);
    for (seq, part) in [(2, "Frame"), (4, "Chain"), (6, "Saddle")] {
        let line = charged.lines.iter().find(|line| line.part == part).unwrap();
        let published = sums.at("US-1", seq);
        sums.same(
            "US-1",
            &format!("duty on {published} of the {part}"),
            published,
            line.amounts.duty.amount(),
        );
    }
    let now = bill(&book, built_in(), &asked);
    assert!(
        now.amounts.duty.is_zero(),
        "struck down: as shipped nothing counts"
    );
    assert!(
        now.cautions.iter().any(|caution| caution.id == "annulled"),
        "and the possible refund is named"
    );
}

fn japan(sums: &mut Sums) {
    let bill = |goods: u32, more: &[(&str, &str)]| {
        let row =
            format!("Frame,frame,Shop,{goods},JPY,US,US,871491,,1,0,0,business,,no,courier,900,");
        bill(&parts(&[&row]), built_in(), &ask("JP", "2025-06-02", more))
    };
    for (goods, more) in [
        (94_000, [].as_slice()),
        (56_000, &[("choice.importer", "business")]),
    ] {
        let one = bill(goods, more);
        let importer = if more.is_empty() {
            "for private use"
        } else {
            "for a business"
        };
        for (seq, what, ours) in [
            (1, "base", row(&one, "tax_base")),
            (2, "national", row(&one, "tax_national")),
            (3, "local", row(&one, "tax_local")),
            (4, "consumption tax", one.amounts.tax_at_border.amount()),
        ] {
            let published = sums.at("JP-2", seq);
            sums.same("JP-2", &format!("{what}, {importer}"), published, ours);
        }
    }
    let (free, taxed) = (bill(16_666, &[]), bill(16_667, &[]));
    let published = sums.at("JP-3", 2);
    sums.same(
        "JP-3",
        "customs value of 16,666",
        published,
        row(&free, "customs_value"),
    );
    let published = sums.at("JP-3", 3);
    sums.same(
        "JP-3",
        "charges on 16,666",
        published,
        free.amounts.at_door().unwrap().amount(),
    );
    let published = sums.at("JP-3", 5);
    sums.same(
        "JP-3",
        "customs value of 16,667",
        published,
        row(&taxed, "customs_value"),
    );
    assert!(taxed.amounts.tax_at_border.is_positive(), "16,667 is taxed");
}
