//! Formulas as a spreadsheet writes them. Spreadsheets count in binary fractions: before figures are compared or rounded, the last
//! digits of a double are cut off.

use super::formula::{At, Block, BoolExpr, Cells, NumExpr};
use crate::tables::Op;
use crate::text::words::letters;
use crate::units::{Dec, Mode, Rounding};

impl NumExpr {
    /// As a spreadsheet writes it, on a sheet.
    pub(super) fn text(&self, on: usize, cells: &dyn Cells) -> String {
        Text { on, cells }.number(self)
    }
}

/// Text on one sheet, with the names of the others.
#[derive(Clone, Copy)]
struct Text<'a> {
    on: usize,
    cells: &'a dyn Cells,
}

impl Text<'_> {
    fn number(self, formula: &NumExpr) -> String {
        match formula {
            NumExpr::N(number) if number.is_negative() => format!("({number})"),
            NumExpr::N(number) => number.to_string(),
            NumExpr::Unknown => "NA()".to_owned(),
            NumExpr::R(at) => self.cell(*at),
            NumExpr::Add(terms) => self.sum(terms),
            NumExpr::Mul(all) => format!("({})", self.numbers(all, "*")),
            NumExpr::Div(a, b) => {
                let fixed = matches!(**b, NumExpr::N(under) if !under.is_zero());
                let (a, b) = (self.number(a), self.number(b));
                if fixed {
                    format!("({a}/{b})")
                } else {
                    format!("IF({b}=0,0,{a}/{b})")
                }
            }
            NumExpr::If(b, one, other) => {
                let (one, other) = (self.number(one), self.number(other));
                format!("IF({},{one},{other})", self.truth(b))
            }
            NumExpr::Total(block) => format!("SUM({})", self.range(*block)),
            NumExpr::Max(all) => format!("MAX({})", self.numbers(all, ",")),
            NumExpr::Min(all) => format!("MIN({})", self.numbers(all, ",")),
            NumExpr::Round(inner, rounding) => rounded(&self.number(inner), *rounding),
            NumExpr::Group(keys, numbers, own) => {
                let (keys, numbers) = (self.range(*keys), self.range(*numbers));
                format!("SUMPRODUCT(({keys}={})*{numbers})", self.cell(*own))
            }
            NumExpr::Rank(keys, rests, own) => self.rank(*keys, *rests, *own),
            NumExpr::Distinct(block) => {
                let all = self.range(*block);
                format!("ROUND(SUMPRODUCT(({all}<>0)/COUNTIF({all},{all})),0)")
            }
        }
    }

    fn numbers(self, all: &[NumExpr], between: &str) -> String {
        let all: Vec<String> = all.iter().map(|one| self.number(one)).collect();
        all.join(between)
    }

    fn sum(self, terms: &[(bool, NumExpr)]) -> String {
        let mut out = String::new();
        for (minus, term) in terms {
            if *minus || !out.is_empty() {
                out.push(if *minus { '-' } else { '+' });
            }
            out.push_str(&self.number(term));
        }
        if out.is_empty() {
            "0".to_owned()
        } else {
            format!("({out})")
        }
    }

    fn rank(self, keys: Option<Block>, rests: Block, own: At) -> String {
        let (all, mine) = (self.range(rests), self.cell(own));
        let order = if rests.to.row > rests.from.row {
            let place = u32::from(own.col + 1) * 100 + own.row - rests.from.row;
            let first = rests.from.row + 1;
            format!("(COLUMN({all})*100+ROW({all})-{first}<{place})")
        } else {
            format!("(COLUMN({all})<{})", own.col + 1)
        };
        let same = |keys: Block| {
            let row = keys.from.row;
            let key = self.cell(At { row, ..own });
            format!("({}={key})*", self.range(keys))
        };
        // all lines are one group where there are no keys
        let same = keys.map_or(String::new(), same);
        format!("SUMPRODUCT({same}(({all}>{mine})+({all}={mine})*{order}))")
    }

    fn truth(self, condition: &BoolExpr) -> String {
        match condition {
            BoolExpr::Is(at) => format!("{}=1", self.cell(*at)),
            BoolExpr::Cmp(a, op, b) => format!("{}{}{}", self.cut(a), sign(*op), self.cut(b)),
            BoolExpr::All(all) => self.truths(all, "AND", "TRUE()"),
            BoolExpr::Any(all) => self.truths(all, "OR", "FALSE()"),
            BoolExpr::Not(inner) => format!("NOT({})", self.truth(inner)),
        }
    }

    fn truths(self, all: &[BoolExpr], name: &str, none: &str) -> String {
        match all {
            [] => none.to_owned(),
            [one] => self.truth(one),
            _ => {
                let all: Vec<String> = all.iter().map(|one| self.truth(one)).collect();
                format!("{name}({})", all.join(","))
            }
        }
    }

    /// A side of a comparison without the last digits of a double; a number in the formula itself has none.
    fn cut(self, figure: &NumExpr) -> String {
        match figure {
            NumExpr::N(number) if number.decimals() <= 9 => self.number(figure),
            _ => format!("ROUND({},9)", self.number(figure)),
        }
    }

    /// `D7`, or `'2 rates'!D7` from another sheet.
    fn cell(self, at: At) -> String {
        let name = format!("{}{}", letters(at.col.into()), at.row + 1);
        if at.sheet == self.on {
            return name;
        }
        let sheet = self.cells.name(at.sheet).replace('\'', "''");
        format!("'{sheet}'!{name}")
    }

    fn range(self, block: Block) -> String {
        let (col, row) = (letters(block.to.col.into()), block.to.row + 1);
        format!("{}:{col}{row}", self.cell(block.from))
    }
}

fn sign(op: Op) -> String {
    if op == Op::Unequal {
        "<>".to_owned()
    } else {
        op.to_string()
    }
}

/// A rounding as a spreadsheet writes it.
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
