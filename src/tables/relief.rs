//! Rows of `reliefs.csv`: limits under which a charge is not due.

use super::charge::{Kind, order};
use super::coin::Coin;
use super::law_names::spaced;
use super::stamp::{PROVENANCE, Rule};
use super::sum::SumExpr;
use super::when::{Op, When};
use crate::text::words::one_of;
use crate::text::{Columns, Problems, Row};
use crate::units::{Dec, number};

/// What the limit is held against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TestPer {
    Consignment,
    Line,
    Piece,
}

/// What a relief cancels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Drop {
    /// Every charge of a kind.
    Kind(Kind),
    /// One charge.
    Charge(String),
}

/// Where a line's tax is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Collect {
    /// By the seller.
    AtSale,
    /// By customs.
    AtBorder,
    /// Nowhere.
    Nowhere,
}

const COLLECTS: [(&str, Collect); 3] = [
    ("at-sale", Collect::AtSale),
    ("at-border", Collect::AtBorder),
    ("none", Collect::Nowhere),
];

impl Collect {
    /// All of them.
    pub(crate) const ALL: [Collect; 3] = [Collect::AtSale, Collect::AtBorder, Collect::Nowhere];

    /// Its word in the tables.
    pub(crate) fn name(self) -> &'static str {
        crate::text::words::word_of(&COLLECTS, self)
    }
}

/// One limit.
#[derive(Debug, Clone)]
pub(crate) struct Relief {
    /// Its id, shared by alternatives.
    pub(crate) id: String,
    /// When it is tested.
    pub(crate) order: u32,
    /// The sum that is tested.
    pub(crate) tests: SumExpr,
    /// Over what.
    pub(crate) per: TestPer,
    /// How the sum must stand to the limit.
    pub(crate) op: Op,
    /// The limit.
    pub(crate) amount: Dec,
    /// The limit's money.
    pub(crate) currency: Coin,
    /// What it cancels.
    pub(crate) drops: Vec<Drop>,
    /// Where the lines' tax is then taken.
    pub(crate) collect: Option<Collect>,
    /// When it applies.
    pub(crate) when: When,
}

impl Drop {
    /// As the tables write it.
    pub(crate) fn name(&self) -> String {
        match self {
            Drop::Kind(kind) => kind.name().to_owned(),
            Drop::Charge(id) => format!("charge:{id}"),
        }
    }
}

impl Rule for Relief {
    const COLUMNS: Columns = Columns {
        needed: &[
            "relief", "order", "tests", "per", "op", "amount", "currency",
        ],
        optional: &["drops", "collect", "when"],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<Relief> {
        let pers = [
            ("consignment", TestPer::Consignment),
            ("line", TestPer::Line),
            ("piece", TestPer::Piece),
        ];
        let id = row.cell("relief").needed(problems, |t| {
            if t.is_empty() {
                Err("expected an id".to_owned())
            } else {
                Ok(t.to_owned())
            }
        });
        let order = row.cell("order").needed(problems, order);
        let tests = row.cell("tests").needed(problems, SumExpr::parse);
        let per = row.cell("per").needed(problems, |t| one_of(&pers, t));
        let op = row.cell("op").needed(problems, Op::parse);
        let amount = row.cell("amount").needed(problems, number::plain);
        let currency = row.cell("currency").needed(problems, Coin::parse);
        let drops = row
            .cell("drops")
            .optional(problems, drops)
            .unwrap_or_default();
        let collect = row
            .cell("collect")
            .optional(problems, |t| one_of(&COLLECTS, t));
        let when = row
            .cell("when")
            .optional(problems, When::parse)
            .unwrap_or_default();
        if row.cell("drops").is_empty() && collect.is_none() {
            problems.push(
                row.cell("drops").error(
                    "expected what the relief drops, such as `duty`, or a word in `collect`",
                ),
            );
        }
        Some(Relief {
            id: id?,
            order: order?,
            tests: tests?,
            per: per?,
            op: op?,
            amount: amount?,
            currency: currency?,
            drops,
            collect,
            when,
        })
    }

    fn key(&self) -> String {
        self.id.clone()
    }

    fn titled(&self) -> String {
        format!("limits, {}", spaced(&self.id))
    }

    fn twin(&self) -> String {
        let when = if self.when.is_always() {
            String::new()
        } else {
            format!(" when {}", self.when)
        };
        let drops: Vec<String> = self.drops.iter().map(Drop::name).collect();
        format!(
            "{}{when} for {} {} ({})",
            self.id,
            self.tests,
            self.op,
            drops.join(" ")
        )
    }
}

fn drops(text: &str) -> Result<Vec<Drop>, String> {
    let one = |word: &str| match word.strip_prefix("charge:") {
        Some(id) => Ok(Drop::Charge(id.to_owned())),
        None => Kind::named(word).map(Drop::Kind).ok_or_else(|| {
            format!("expected duty, remedy, tax, sale-tax, fee or `charge:ID`, not `{word}`")
        }),
    };
    text.split_whitespace().map(one).collect()
}
