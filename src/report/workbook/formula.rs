//! Formulas as a tree: calculated here exactly, for the value stored beside them, and written for a spreadsheet.

use std::collections::BTreeSet;

use crate::tables::Op;
use crate::text::words::letters;
use crate::units::{Dec, Mode, Overflow, Rounding};

/// A cell: sheet, row, column, from zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct At {
    pub(super) sheet: usize,
    pub(super) row: u32,
    pub(super) col: u16,
}

/// A block of cells of one sheet, both ends in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Block {
    pub(super) from: At,
    pub(super) to: At,
}

/// What a formula asks of the cells that it names.
pub(super) trait Cells {
    /// The number in a cell.
    fn number(&self, at: At) -> Dec;

    /// The name of a sheet.
    fn name(&self, sheet: usize) -> &str;

    /// The numbers of a block whose key is that of one cell, added up.
    fn grouped(&self, keys: Block, numbers: Block, own: At) -> Result<Dec, Overflow>;

    /// How many cells of a block with the key of one of them have a greater number, or the same and stand before; the key of
    /// a cell stands in its column, in the row of keys.
    fn rank(&self, keys: Option<Block>, rests: Block, own: At) -> Result<Dec, Overflow>;
}

impl Block {
    pub(super) fn row(sheet: usize, row: u32, from: u16, to: u16) -> Block {
        Block {
            from: At {
                sheet,
                row,
                col: from,
            },
            to: At {
                sheet,
                row,
                col: to,
            },
        }
    }

    pub(super) fn cells(self) -> impl Iterator<Item = At> {
        // Column by column, as shares are counted.
        (self.from.col..=self.to.col).flat_map(move |col| {
            (self.from.row..=self.to.row).map(move |row| At {
                row,
                col,
                ..self.from
            })
        })
    }
}

/// A formula for a number.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum NumExpr {
    /// A number in the formula itself.
    N(Dec),
    /// A cell.
    R(At),
    /// Terms, each added or taken off.
    Add(Vec<(bool, NumExpr)>),
    /// A product.
    Mul(Vec<NumExpr>),
    /// A quotient; zero where the divisor is.
    Div(Box<NumExpr>, Box<NumExpr>),
    /// One or the other.
    If(Box<BoolExpr>, Box<NumExpr>, Box<NumExpr>),
    /// All numbers of a block.
    Total(Block),
    /// The greatest.
    Max(Vec<NumExpr>),
    /// The least.
    Min(Vec<NumExpr>),
    /// Rounded as a rule says.
    Round(Box<NumExpr>, Rounding),
    /// The numbers of a row whose key is this one, added up: keys, numbers, key.
    Group(Block, Block, At),
    /// How many cells of a block with the same key have a greater rest, or the same and stand before: keys, rests, own cell.
    Rank(Option<Block>, Block, At),
    /// How many different numbers other than zero a block holds.
    Distinct(Block),
}

/// A condition.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum BoolExpr {
    /// The cell holds 1.
    Is(At),
    /// Two numbers compared.
    Cmp(NumExpr, Op, NumExpr),
    /// All of them; none is true.
    All(Vec<BoolExpr>),
    /// Any of them; none is false.
    Any(Vec<BoolExpr>),
    /// Not so.
    Not(Box<BoolExpr>),
}

impl NumExpr {
    pub(super) fn minus(a: NumExpr, b: NumExpr) -> NumExpr {
        NumExpr::Add(vec![(false, a), (true, b)])
    }

    pub(super) fn sum(terms: impl IntoIterator<Item = NumExpr>) -> NumExpr {
        NumExpr::Add(terms.into_iter().map(|term| (false, term)).collect())
    }

    pub(super) fn one_if(b: BoolExpr) -> NumExpr {
        NumExpr::If(
            Box::new(b),
            Box::new(NumExpr::N(Dec::ONE)),
            Box::new(NumExpr::N(Dec::ZERO)),
        )
    }

    /// Its value.
    pub(super) fn value(&self, cells: &dyn Cells) -> Result<Dec, Overflow> {
        match self {
            NumExpr::N(number) => Ok(*number),
            NumExpr::R(at) => Ok(cells.number(*at)),
            NumExpr::Add(terms) => terms.iter().try_fold(Dec::ZERO, |sum, (minus, term)| {
                let value = term.value(cells)?;
                if *minus {
                    sum.minus(value)
                } else {
                    sum.plus(value)
                }
            }),
            NumExpr::Mul(all) => all
                .iter()
                .try_fold(Dec::ONE, |product, one| product.times(one.value(cells)?)),
            NumExpr::Div(a, b) => {
                let under = b.value(cells)?;
                if under.is_zero() {
                    Ok(Dec::ZERO)
                } else {
                    a.value(cells)?.over(under)
                }
            }
            NumExpr::If(b, one, other) => {
                if b.holds(cells)? {
                    one.value(cells)
                } else {
                    other.value(cells)
                }
            }
            NumExpr::Total(block) => Dec::total(block.cells().map(|at| cells.number(at))),
            NumExpr::Max(all) => Ok(values(all, cells)?.into_iter().max().unwrap_or_default()),
            NumExpr::Min(all) => Ok(values(all, cells)?.into_iter().min().unwrap_or_default()),
            NumExpr::Round(inner, rounding) => rounding.apply(inner.value(cells)?),
            NumExpr::Group(keys, numbers, own) => cells.grouped(*keys, *numbers, *own),
            NumExpr::Rank(keys, rests, own) => cells.rank(*keys, *rests, *own),
            NumExpr::Distinct(block) => {
                let all = block.cells().map(|at| cells.number(at));
                let found: BTreeSet<Dec> = all.filter(|one| !one.is_zero()).collect();
                Ok(Dec::from(u32::try_from(found.len()).map_err(|_| Overflow)?))
            }
        }
    }

    /// About how long it is as text, and never less.
    pub(super) fn length(&self) -> usize {
        let all = |terms: &[NumExpr]| terms.iter().map(|one| one.length() + 1).sum::<usize>();
        match self {
            NumExpr::N(number) => 4 + number.to_string().len(),
            NumExpr::R(_) => 24,
            NumExpr::Add(terms) => 2 + terms.iter().map(|(_, one)| one.length() + 1).sum::<usize>(),
            NumExpr::Mul(terms) => 2 + all(terms),
            NumExpr::Div(a, b) if matches!(**b, NumExpr::N(_)) => 3 + a.length() + b.length(),
            NumExpr::Div(a, b) => 11 + a.length() + 2 * b.length(),
            NumExpr::If(b, one, other) => 6 + b.length() + one.length() + other.length(),
            NumExpr::Total(_) => 40,
            NumExpr::Max(terms) | NumExpr::Min(terms) => 5 + all(terms),
            NumExpr::Round(inner, rounding) => {
                let times = match rounding.mode {
                    Mode::HalfEven => 4,
                    Mode::HalfDown => 2,
                    _ => 1,
                };
                80 + times * (30 + inner.length())
            }
            NumExpr::Group(..) | NumExpr::Distinct(_) => 110,
            NumExpr::Rank(..) => 260,
        }
    }

    /// As a spreadsheet writes it, on a sheet.
    pub(super) fn text(&self, on: usize, cells: &dyn Cells) -> String {
        match self {
            NumExpr::N(number) if number.is_negative() => format!("({number})"),
            NumExpr::N(number) => number.to_string(),
            NumExpr::R(at) => cell(*at, on, cells),
            NumExpr::Add(terms) if terms.is_empty() => "0".to_owned(),
            NumExpr::Add(terms) => {
                let mut out = String::from("(");
                for (at, (minus, term)) in terms.iter().enumerate() {
                    out.push_str(if *minus {
                        "-"
                    } else if at > 0 {
                        "+"
                    } else {
                        ""
                    });
                    out.push_str(&term.text(on, cells));
                }
                out + ")"
            }
            NumExpr::Mul(all) => format!(
                "({})",
                all.iter()
                    .map(|one| one.text(on, cells))
                    .collect::<Vec<_>>()
                    .join("*")
            ),
            NumExpr::Div(a, b) => {
                let fixed = matches!(**b, NumExpr::N(under) if !under.is_zero());
                let (a, b) = (a.text(on, cells), b.text(on, cells));
                if fixed {
                    return format!("({a}/{b})");
                }
                format!("IF({b}=0,0,{a}/{b})")
            }
            NumExpr::If(b, one, other) => format!(
                "IF({},{},{})",
                b.text(on, cells),
                one.text(on, cells),
                other.text(on, cells)
            ),
            NumExpr::Total(block) => format!("SUM({})", range(*block, on, cells)),
            NumExpr::Max(all) => format!("MAX({})", texts(all, on, cells)),
            NumExpr::Min(all) => format!("MIN({})", texts(all, on, cells)),
            NumExpr::Round(inner, rounding) => rounded(&inner.text(on, cells), *rounding),
            NumExpr::Group(keys, numbers, own) => {
                format!(
                    "SUMPRODUCT(({}={})*{})",
                    range(*keys, on, cells),
                    cell(*own, on, cells),
                    range(*numbers, on, cells)
                )
            }
            NumExpr::Rank(keys, rests, own) => rank_text(*keys, *rests, *own, on, cells),
            NumExpr::Distinct(block) => {
                let all = range(*block, on, cells);
                format!("ROUND(SUMPRODUCT(({all}<>0)/COUNTIF({all},{all})),0)")
            }
        }
    }
}

fn values(all: &[NumExpr], cells: &dyn Cells) -> Result<Vec<Dec>, Overflow> {
    all.iter().map(|one| one.value(cells)).collect()
}

fn texts(all: &[NumExpr], on: usize, cells: &dyn Cells) -> String {
    all.iter()
        .map(|one| one.text(on, cells))
        .collect::<Vec<_>>()
        .join(",")
}

fn rank_text(keys: Option<Block>, rests: Block, own: At, on: usize, cells: &dyn Cells) -> String {
    let (all, mine) = (range(rests, on, cells), cell(own, on, cells));
    let rows = rests.to.row > rests.from.row;
    let order = if rows {
        format!(
            "(COLUMN({all})*100+ROW({all})-{}<{})",
            rests.from.row + 1,
            u32::from(own.col + 1) * 100 + own.row - rests.from.row
        )
    } else {
        format!("(COLUMN({all})<{})", own.col + 1)
    };
    let same = keys.map(|keys| {
        let key = At {
            row: keys.from.row,
            col: own.col,
            ..keys.from
        };
        format!("({}={})*", range(keys, on, cells), cell(key, on, cells))
    });
    format!(
        "SUMPRODUCT({}(({all}>{mine})+({all}={mine})*{order}))",
        same.unwrap_or_default()
    )
}

impl BoolExpr {
    /// Whether it holds.
    pub(super) fn holds(&self, cells: &dyn Cells) -> Result<bool, Overflow> {
        Ok(match self {
            BoolExpr::Is(at) => cells.number(*at) == Dec::ONE,
            BoolExpr::Cmp(a, op, b) => op.holds(
                &a.value(cells)?.round_to(9, Mode::HalfUp),
                &b.value(cells)?.round_to(9, Mode::HalfUp),
            ),
            BoolExpr::All(all) => all
                .iter()
                .try_fold(true, |so_far, one| Ok(so_far && one.holds(cells)?))?,
            BoolExpr::Any(all) => all
                .iter()
                .try_fold(false, |so_far, one| Ok(so_far || one.holds(cells)?))?,
            BoolExpr::Not(inner) => !inner.holds(cells)?,
        })
    }

    /// As a spreadsheet writes it.
    pub(super) fn text(&self, on: usize, cells: &dyn Cells) -> String {
        let joined = |all: &[BoolExpr], name: &str, none: &str| match all {
            [] => none.to_owned(),
            [one] => one.text(on, cells),
            _ => format!(
                "{name}({})",
                all.iter()
                    .map(|one| one.text(on, cells))
                    .collect::<Vec<_>>()
                    .join(",")
            ),
        };
        match self {
            BoolExpr::Is(at) => format!("{}=1", cell(*at, on, cells)),
            BoolExpr::Cmp(a, op, b) => {
                let (a, b) = (cut(a, on, cells), cut(b, on, cells));
                format!("{a}{}{b}", sign(*op))
            }
            BoolExpr::All(all) => joined(all, "AND", "TRUE()"),
            BoolExpr::Any(all) => joined(all, "OR", "FALSE()"),
            BoolExpr::Not(inner) => format!("NOT({})", inner.text(on, cells)),
        }
    }
}

impl BoolExpr {
    fn length(&self) -> usize {
        let all = |terms: &[BoolExpr]| 8 + terms.iter().map(|one| one.length() + 1).sum::<usize>();
        match self {
            BoolExpr::Is(_) => 26,
            BoolExpr::Cmp(a, _, b) => 20 + a.length() + b.length(),
            BoolExpr::All(terms) | BoolExpr::Any(terms) => all(terms),
            BoolExpr::Not(inner) => 5 + inner.length(),
        }
    }
}

/// A side of a comparison without the last digits of a double; a number in the formula itself has none.
fn cut(figure: &NumExpr, on: usize, cells: &dyn Cells) -> String {
    match figure {
        NumExpr::N(number) if number.decimals() <= 9 => figure.text(on, cells),
        _ => format!("ROUND({},9)", figure.text(on, cells)),
    }
}

fn sign(op: Op) -> String {
    if op == Op::Unequal {
        "<>".to_owned()
    } else {
        op.to_string()
    }
}

/// A rounding as a spreadsheet writes it; first the last digits of a double are cut off.
fn rounded(x: &str, rounding: Rounding) -> String {
    let step = rounding.step;
    if rounding == Rounding::minor(9) {
        return format!("ROUND({x},9)");
    }
    let plain = step == Dec::ONE;
    let x = if plain {
        format!("ROUND({x},9)")
    } else {
        format!("ROUND(({x})/{step},9)")
    };
    let whole = match rounding.mode {
        Mode::HalfUp => format!("ROUND({x},0)"),
        Mode::Down => format!("ROUNDDOWN({x},0)"),
        Mode::Up => format!("ROUNDUP({x},0)"),
        Mode::Floor => format!("INT({x})"),
        Mode::Ceiling => format!("-INT(-{x})"),
        Mode::HalfDown => format!("SIGN({x})*ROUNDUP(ABS({x})-0.5,0)"),
        Mode::HalfEven => {
            format!("IF(ABS(ABS({x}-INT({x}))-0.5)<0.0000001,2*ROUND({x}/2,0),ROUND({x},0))")
        }
    };
    if plain {
        whole
    } else {
        format!("ROUND({whole}*{step},{})", step.decimals())
    }
}

/// `D7`, or `'2 rates'!D7` from another sheet.
fn cell(at: At, on: usize, cells: &dyn Cells) -> String {
    let name = format!("{}{}", letters(at.col.into()), at.row + 1);
    if at.sheet == on {
        name
    } else {
        format!("'{}'!{name}", cells.name(at.sheet).replace('\'', "''"))
    }
}

fn range(block: Block, on: usize, cells: &dyn Cells) -> String {
    format!(
        "{}:{}{}",
        cell(block.from, on, cells),
        letters(block.to.col.into()),
        block.to.row + 1
    )
}
