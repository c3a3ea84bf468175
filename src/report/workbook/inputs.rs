//! The sheet of inputs: every figure that may be changed, once and in one place, with what it is for and where it comes from.

use std::collections::BTreeMap;

use super::exchange::{Exchange, exchange};
use super::formula::{At, NumExpr};
use super::listed::{Listed, forms, list};
use super::page::FIRST;
use super::refused::{Made, Refused};
use super::sheets::{Look, Sheets};
use super::{Common, Summed};
use crate::landed::{Charged, Landed, WorkLine, Working};
use crate::report::plain::row_place;
use crate::rules::{Figure, Group};
use crate::units::{Currency, Dec};

/// The columns of the sheet.
const NAME: u16 = 0;
const FIGURE: u16 = 1;
const UNIT: u16 = 2;
const QUANTITY: u16 = 3;
const EACH: u16 = 4;
const ONCE: u16 = 5;
const WEIGHS: u16 = 6;
const LANDS_AT: u16 = 7;
const FOR: u16 = 8;
const ROW: u16 = 9;
const SOURCE: u16 = 10;

/// The groups of figures in the order in which they are listed.
const GROUPS: [(Group, &str); 6] = [
    (Group::Card, "The card"),
    (Group::Seller, "What the sellers ask beside the prices"),
    (Group::Discount, "Discounts and credits"),
    (Group::FreightTable, "Freight tables"),
    (
        Group::Rate,
        "Rates of duty and tax, with the goods they are for",
    ),
    (Group::Law, "Limits, fees and other figures of the law"),
];

/// A figure of a line that the sheet of goods has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tag {
    /// The price of one piece.
    Price,
    /// How many.
    Quantity,
    /// What one piece weighs without packing.
    Weighs,
}

/// Where the inputs stand.
pub(super) struct Inputs {
    sheet: usize,
    /// The row of each parcel's first line.
    lines: Vec<u32>,
    figures: BTreeMap<String, At>,
    receipts: BTreeMap<String, At>,
    exchange: Exchange,
    /// What is simply held.
    pub(super) held: Vec<At>,
}

impl Inputs {
    fn cell(&self, parcel: usize, line: u16, col: u16) -> NumExpr {
        let row = self.lines[parcel] + u32::from(line);
        let sheet = self.sheet;
        NumExpr::R(At { sheet, row, col })
    }

    /// A figure of a line of a parcel.
    pub(super) fn tag(&self, parcel: usize, line: u16, tag: Tag) -> NumExpr {
        let col = match tag {
            Tag::Price => FIGURE,
            Tag::Quantity => QUANTITY,
            Tag::Weighs => WEIGHS,
        };
        self.cell(parcel, line, col)
    }

    /// The packed mass of a line: so much for each piece, and so much once.
    pub(super) fn packed(&self, parcel: usize, line: u16) -> NumExpr {
        let cell = |col| self.cell(parcel, line, col);
        let pieces = NumExpr::Mul(vec![cell(QUANTITY), cell(EACH)]);
        NumExpr::sum([pieces, cell(ONCE)])
    }

    /// The cell of a figure of a form.
    pub(super) fn of(&self, parcel: usize, figure: &Figure) -> Made<At> {
        let missing =
            || Refused::defect(format!("no cell has the figure of {}", figure.origin.place));
        let cell = self.figures.get(&key(parcel, figure));
        cell.copied().ok_or_else(missing)
    }

    /// The cell of a receipt.
    pub(super) fn receipt(&self, receipt: &Charged) -> Made<At> {
        let missing = || Refused::defect(format!("no cell has the receipt {}", receipt.place));
        let cell = self.receipts.get(&receipt_key(receipt));
        cell.copied().ok_or_else(missing)
    }

    /// The published figures of exchange.
    pub(super) fn exchange(&self) -> &Exchange {
        &self.exchange
    }
}

/// A figure's own name: figures of one row that say the same are one. What stands in a seller's row is the parcel's own, since a
/// parcel may have terms of its own.
fn key(parcel: usize, figure: &Figure) -> String {
    let (what, _) = figure.words();
    let origin = &figure.origin;
    let own = if figure.group() == Some(Group::Seller) {
        parcel.to_string()
    } else {
        String::new()
    };
    let (place, id, value) = (&origin.place, &origin.id, figure.value);
    format!("{own}|{place}|{id}|{what}|{value}")
}

fn receipt_key(receipt: &Charged) -> String {
    let (place, word, amount) = (&receipt.place, receipt.word.name(), receipt.amount);
    format!("{place}|{word}|{amount}")
}

/// Writes the sheet.
pub(super) fn write(
    sheets: &mut Sheets,
    sheet: usize,
    landed: &Landed,
    works: &[Working<'_>],
) -> Made<Inputs> {
    let title = "Inputs: change a figure on a pale ground, and every sum moves";
    sheets.head(sheet, title, (0, &[]));
    let mut list = List {
        sheets,
        sheet,
        row: 1,
    };
    let lines = list.goods(works);
    let exchange = exchange(&mut list, works)?;
    let figures = list.figures(landed.currency, works);
    let receipts = list.receipts(works);
    let held = list.held(landed);
    let widths = [
        (NAME, 46),
        (FIGURE, 12),
        (UNIT, 9),
        (QUANTITY, 9),
        (EACH, 11),
        (ONCE, 11),
        (WEIGHS, 11),
        (LANDS_AT, 12),
        (FOR, 30),
        (ROW, 30),
        (SOURCE, 60),
    ];
    sheets.lay_out(sheet, &widths, (1, 1));
    sheets.leaves[sheet].upright = true;
    // sources are long, and each stands in the row that is printed beside the figure
    sheets.leaves[sheet].printed = Some(ROW);
    Ok(Inputs {
        sheet,
        lines,
        figures,
        receipts,
        exchange,
        held,
    })
}

/// What each part lands at, beside its price.
pub(super) fn landed_beside_goods(
    sheets: &mut Sheets,
    common: &Common,
    summed: &[Summed],
) -> Made<()> {
    let money = Look::Money(common.currency.digits());
    for (parcel, sum) in summed.iter().enumerate() {
        for line in 0..sum.lines {
            let (sheet, row) = (sum.sheet, sum.landed);
            let landed = NumExpr::R(At {
                sheet,
                row,
                col: FIRST + line,
            });
            let at = At {
                sheet: common.inputs.sheet,
                row: common.inputs.lines[parcel] + u32::from(line),
                col: LANDS_AT,
            };
            sheets.formula(at, landed, money)?;
        }
    }
    Ok(())
}

/// The sheet as it is written, block by block.
pub(super) struct List<'a> {
    sheets: &'a mut Sheets,
    sheet: usize,
    row: u32,
}

impl List<'_> {
    fn at(&self, col: u16) -> At {
        let (sheet, row) = (self.sheet, self.row);
        At { sheet, row, col }
    }

    fn label(&mut self, col: u16, text: &str, look: Look) {
        let at = self.at(col);
        self.sheets.label(at, text, look);
    }

    /// Begins a block.
    pub(super) fn head(&mut self, names: &[(u16, &str)]) {
        self.row += 1;
        for (col, name) in names {
            let text = [NAME, UNIT, FOR, ROW, SOURCE].contains(col);
            let look = if text { Look::Head } else { Look::Column };
            self.label(*col, name, look);
        }
        self.row += 1;
    }

    /// Writes one figure: its name, what it counts, what it is for, where it stands and what is behind it. Returned is its cell.
    pub(super) fn figure(
        &mut self,
        (what, unit): (&str, &str),
        (value, look): (Dec, Look),
        [of, row, source]: [&str; 3],
    ) -> At {
        let at = self.at(FIGURE);
        self.sheets.figure(at, value, look);
        self.label(NAME, what, Look::Plain);
        self.label(UNIT, unit, Look::Source);
        for (col, text) in [(FOR, of), (ROW, row_place(row)), (SOURCE, source)] {
            self.label(col, text, Look::Source);
        }
        self.row += 1;
        at
    }

    /// Writes the goods of all parcels; returned is the row of each parcel's first line.
    fn goods(&mut self, works: &[Working<'_>]) -> Vec<u32> {
        let names = [
            (NAME, "Goods"),
            (FIGURE, "price"),
            (UNIT, "in"),
            (QUANTITY, "quantity"),
            (EACH, "g each"),
            (ONCE, "g once"),
            (WEIGHS, "g unpacked"),
            (LANDS_AT, "lands at"),
            (FOR, "from"),
            (ROW, "row"),
            (SOURCE, "source"),
        ];
        let weighed = works.iter().any(Working::asks_for_grams);
        let shown = names.iter().filter(|(col, _)| weighed || *col != WEIGHS);
        self.head(&shown.copied().collect::<Vec<_>>());
        let mut first = Vec::new();
        for work in works {
            first.push(self.row);
            for line in &work.lines {
                self.line(work, line, weighed);
            }
        }
        first
    }

    fn line(&mut self, work: &Working<'_>, line: &WorkLine<'_>, weighed: bool) {
        let source = if line.guessed {
            "no mass is stated: the usual one of its place"
        } else {
            ""
        };
        let cells = [
            (QUANTITY, Dec::from(line.part.quantity)),
            (EACH, line.packed_each.0),
            (ONCE, line.packed_once.0),
            (WEIGHS, line.unit.0),
        ];
        for (col, number) in cells {
            if col != WEIGHS || weighed {
                let at = self.at(col);
                self.sheets.figure(at, number, Look::Typed);
            }
        }
        let price = (line.price.amount(), Look::Input(work.paid_in.digits()));
        let row = line.part.at.place().to_string();
        let named = (line.part.name.as_str(), work.paid_in.code());
        self.figure(named, price, [&work.bill.id, &row, source]);
    }

    /// Writes the figures of all forms, group by group, each once.
    fn figures(&mut self, home: Currency, works: &[Working<'_>]) -> BTreeMap<String, At> {
        let mut listed: Vec<(String, Listed)> = Vec::new();
        let mut known: BTreeMap<String, usize> = BTreeMap::new();
        for (parcel, work) in works.iter().enumerate() {
            for form in forms(work) {
                for (which, figure) in form.figures() {
                    let Some(group) = figure.group() else {
                        continue;
                    };
                    let key = key(parcel, figure);
                    let at = *known.entry(key.clone()).or_insert_with(|| {
                        listed.push((key, list(group, form, which, figure, (home, work))));
                        listed.len() - 1
                    });
                    listed[at].1.add(form, which, work);
                }
            }
        }
        let mut cells = BTreeMap::new();
        for (group, title) in GROUPS {
            let mut own = listed
                .iter()
                .filter(|(_, one)| one.group == group)
                .peekable();
            if own.peek().is_none() {
                continue;
            }
            self.head(&[
                (NAME, title),
                (FOR, "for"),
                (ROW, "row"),
                (SOURCE, "source"),
            ]);
            for (key, one) in own {
                let money = Currency::parse(&one.unit);
                let percent = (one.unit == "%").then_some(2);
                let digits = money.map(Currency::digits).or(percent);
                let look = digits.map_or(Look::Typed, Look::Input);
                let of = one.of.join(", ");
                let named = (one.what.as_str(), one.unit.as_str());
                let about = [of.as_str(), &one.row, &one.source];
                cells.insert(key.clone(), self.figure(named, (one.value, look), about));
            }
        }
        cells
    }

    /// Writes the receipts of all parcels.
    fn receipts(&mut self, works: &[Working<'_>]) -> BTreeMap<String, At> {
        let mut cells = BTreeMap::new();
        let all = works.iter().flat_map(|work| {
            let receipts = work.receipts.iter();
            receipts.map(move |receipt| (work, receipt))
        });
        for (nth, (work, receipt)) in all.enumerate() {
            if nth == 0 {
                self.head(&[(NAME, "Receipts"), (FOR, "for"), (ROW, "row")]);
            }
            let what = receipt.word.name().replace('_', " ");
            let amount = (receipt.amount, Look::Input(receipt.currency.digits()));
            let named = (what.as_str(), receipt.currency.code());
            let day = receipt.day.to_string();
            let cell = self.figure(named, amount, [&work.bill.id, &receipt.place, &day]);
            cells.insert(receipt_key(receipt), cell);
        }
        cells
    }

    /// Writes what is simply held, as far as what was paid for it is known.
    fn held(&mut self, landed: &Landed) -> Vec<At> {
        let mut cells = Vec::new();
        for held in &landed.held {
            let Some(paid) = held.paid else {
                continue;
            };
            if cells.is_empty() {
                self.head(&[(NAME, "In hand and given, as paid"), (ROW, "row")]);
            }
            let money = landed.currency;
            let amount = (paid.amount(), Look::Input(money.digits()));
            cells.push(self.figure((&held.part, money.code()), amount, ["", &held.row, ""]));
        }
        cells
    }
}
