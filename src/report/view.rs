//! What a command shows, before anything is said about how.

use crate::text::visible;

/// Everything a command shows, in order.
#[derive(Debug, Clone, Default)]
pub struct View {
    /// The pieces.
    pub(crate) blocks: Vec<Block>,
}

/// One piece.
#[derive(Debug, Clone)]
pub(crate) enum Block {
    /// The answer to what was asked, which comes first.
    Answer(String),
    /// A sentence on a line of its own.
    Sentence(String),
    /// A heading.
    Heading(String),
    /// A table.
    Table(Grid),
    /// A list of short lines.
    Notes(Vec<String>),
    /// Cautions, what costs most first.
    Cautions(Vec<Said>),
    /// What a terminal shows behind `--more`; Markdown and CSV are always whole.
    More(Vec<Block>),
    /// What a terminal shows in the place of something longer behind `--more`, and nothing else does.
    Brief(Vec<Block>),
}

/// A caution as it is said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Said {
    /// What it costs, or that this is unknown; nothing where no money hangs on it.
    pub(crate) amount: String,
    /// What it is, and what to do.
    pub(crate) text: String,
    /// Its lasting name, which is shown where everything is.
    pub(crate) id: &'static str,
}

/// A table.
#[derive(Debug, Clone, Default)]
pub(crate) struct Grid {
    /// Its name, for CSV with several tables.
    pub(crate) name: &'static str,
    /// The header.
    pub(crate) header: Vec<String>,
    /// The rows; a row of one cell is a heading across.
    pub(crate) rows: Vec<Vec<Cell>>,
    /// The last row, ruled off.
    pub(crate) foot: Option<Vec<Cell>>,
    /// On a terminal each row stands over several lines: its name, what it says, and the rest.
    pub(crate) stacked: bool,
    /// In CSV, the column that gives the heading over each row; without one headings are left out there.
    pub(crate) heading: Option<&'static str>,
    /// What a terminal shows in its place, where the whole is too wide or too long for it.
    pub(crate) on_screen: Option<Box<Grid>>,
}

/// A cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Cell {
    /// Words.
    Text(String),
    /// A figure, set to the right.
    Number(String),
    /// A figure that is not due.
    NotDue(String),
    /// Nothing.
    Empty,
}

impl Cell {
    fn visible(&self) -> Cell {
        match self {
            Cell::Text(text) => Cell::Text(visible(text).into_owned()),
            Cell::Number(text) => Cell::Number(visible(text).into_owned()),
            Cell::NotDue(text) => Cell::NotDue(visible(text).into_owned()),
            Cell::Empty => Cell::Empty,
        }
    }

    /// Words.
    pub(crate) fn text(text: impl Into<String>) -> Cell {
        Cell::Text(text.into())
    }

    /// A figure.
    pub(crate) fn number(text: impl Into<String>) -> Cell {
        Cell::Number(text.into())
    }

    /// Its text.
    pub(crate) fn as_str(&self) -> &str {
        match self {
            Cell::Text(text) | Cell::Number(text) | Cell::NotDue(text) => text,
            Cell::Empty => "",
        }
    }
}

impl Block {
    /// The same with whatever is not seen in it shown.
    fn visible(&self) -> Block {
        let seen = |text: &String| visible(text).into_owned();
        match self {
            Block::Answer(text) => Block::Answer(seen(text)),
            Block::Sentence(text) => Block::Sentence(seen(text)),
            Block::Heading(text) => Block::Heading(seen(text)),
            Block::Notes(lines) => Block::Notes(lines.iter().map(seen).collect()),
            Block::Table(grid) => Block::Table(grid.visible()),
            Block::Cautions(said) => Block::Cautions(said.iter().map(Said::visible).collect()),
            Block::More(hidden) => Block::More(hidden.iter().map(Block::visible).collect()),
            Block::Brief(shown) => Block::Brief(shown.iter().map(Block::visible).collect()),
        }
    }
}

impl Said {
    fn visible(&self) -> Said {
        Said {
            amount: visible(&self.amount).into_owned(),
            text: visible(&self.text).into_owned(),
            id: self.id,
        }
    }
}

impl View {
    /// The same with whatever is not seen in it shown.
    pub(super) fn visible(&self) -> View {
        View {
            blocks: self.blocks.iter().map(Block::visible).collect(),
        }
    }

    /// Every piece in order, those behind `--more` among them, without what stands in their place.
    pub(super) fn whole(&self) -> Vec<&Block> {
        let mut all = Vec::new();
        for block in &self.blocks {
            match block {
                Block::More(hidden) => all.extend(hidden),
                Block::Brief(_) => {}
                shown => all.push(shown),
            }
        }
        all
    }

    /// Adds the answer.
    pub(crate) fn answer(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Answer(text.into()));
    }

    /// Adds what a terminal shows behind `--more`.
    pub(crate) fn more(&mut self, hidden: View) {
        let pieces = hidden.blocks.into_iter().flat_map(|block| match block {
            Block::More(hidden) => hidden,
            shown => vec![shown],
        });
        self.blocks.push(Block::More(pieces.collect()));
    }

    /// Adds what a terminal shows unless everything is asked for.
    pub(crate) fn brief(&mut self, shown: View) {
        self.blocks.push(Block::Brief(shown.blocks));
    }

    /// Adds cautions, unless there are none.
    pub(crate) fn cautions(&mut self, said: Vec<Said>) {
        if !said.is_empty() {
            self.blocks.push(Block::Cautions(said));
        }
    }

    /// Adds a sentence.
    pub(crate) fn say(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Sentence(text.into()));
    }

    /// Adds a heading.
    pub(crate) fn head(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Heading(text.into()));
    }

    /// Adds a table, unless it has no rows.
    pub(crate) fn table(&mut self, grid: Grid) {
        if !grid.rows.is_empty() {
            self.blocks.push(Block::Table(grid));
        }
    }

    /// Adds a list, unless it is empty.
    pub(crate) fn notes(&mut self, lines: Vec<String>) {
        if !lines.is_empty() {
            self.blocks.push(Block::Notes(lines));
        }
    }
}

impl Grid {
    fn visible(&self) -> Grid {
        let row = |row: &Vec<Cell>| row.iter().map(Cell::visible).collect();
        Grid {
            name: self.name,
            header: self
                .header
                .iter()
                .map(|name| visible(name).into_owned())
                .collect(),
            rows: self.rows.iter().map(row).collect(),
            foot: self.foot.as_ref().map(row),
            stacked: self.stacked,
            heading: self.heading,
            on_screen: self.on_screen.as_ref().map(|grid| Box::new(grid.visible())),
        }
    }

    /// A table with this header.
    pub(crate) fn new(name: &'static str, header: &[&str]) -> Grid {
        Grid {
            name,
            header: header.iter().map(|h| (*h).to_owned()).collect(),
            ..Grid::default()
        }
    }

    /// Leaves out columns in which no row has anything but zero; the first and the last stay.
    pub(crate) fn drop_empty_columns(&mut self) {
        let width = self.header.len();
        let nothing = |cell: &Cell| {
            matches!(cell, Cell::Empty)
                || cell
                    .as_str()
                    .chars()
                    .all(|c| matches!(c, '0' | '.' | '-' | ' '))
        };
        let bare = |at: usize| {
            self.rows
                .iter()
                .chain(&self.foot)
                .filter(|row| row.len() == width)
                .all(|row| row.get(at).is_none_or(nothing))
        };
        let gone: Vec<bool> = (0..width)
            .map(|at| at != 0 && at + 1 != width && bare(at))
            .collect();
        let keep = |at: usize| !gone.get(at).copied().unwrap_or(false);
        let thin = |row: &mut Vec<Cell>| {
            if row.len() == width {
                let mut at = 0;
                row.retain(|_| {
                    at += 1;
                    keep(at - 1)
                });
            }
        };
        self.rows.iter_mut().for_each(thin);
        if let Some(foot) = &mut self.foot {
            thin(foot);
        }
        let mut at = 0;
        self.header.retain(|_| {
            at += 1;
            keep(at - 1)
        });
    }
}

/// Whether a column of a table holds figures.
pub(super) fn is_figures(grid: &Grid, at: usize) -> bool {
    grid.rows
        .iter()
        .chain(&grid.foot)
        .any(|row| matches!(row.get(at), Some(Cell::Number(_) | Cell::NotDue(_))))
}
