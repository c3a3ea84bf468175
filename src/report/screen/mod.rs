//! Views as text for a terminal, made to fit its width.
//!
//! Nothing is cut: columns of words wrap; where the figures of a table leave too little room for names, each name gets a line of its
//! own above its figures; where the figures alone are too wide, each stands on its own line behind its heading.

mod table;
mod wrap;

use self::table::{stacked, table};
use self::wrap::{in_ascii, width, wrap, wrap_from};
use super::view::{Block, Said, View};

/// The narrowest and the widest that text is made for.
const WIDTHS: (usize, usize) = (60, 160);

/// What is known of the terminal, and how much of a view is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Screen {
    /// Columns of the terminal.
    width: usize,
    /// Whether text is coloured.
    colour: bool,
    /// Whether lines and signs are drawn in ASCII.
    ascii: bool,
    /// Whether what stands behind `--more` is shown.
    more: bool,
}

impl Default for Screen {
    fn default() -> Screen {
        Screen::of(80)
    }
}

impl Screen {
    /// A screen of this many columns, without colour; beyond what text is made for the nearest width counts.
    pub fn of(columns: usize) -> Screen {
        Screen {
            width: columns.clamp(WIDTHS.0, WIDTHS.1),
            colour: false,
            ascii: false,
            more: false,
        }
    }

    /// The same with what stands behind `--more`, or without it.
    #[must_use]
    pub fn with_more(self, more: bool) -> Screen {
        Screen { more, ..self }
    }

    /// The same in colour, or without it.
    #[must_use]
    pub fn in_colour(self, colour: bool) -> Screen {
        Screen { colour, ..self }
    }

    /// The same with lines and signs in ASCII, or not.
    #[must_use]
    pub fn in_ascii(self, ascii: bool) -> Screen {
        Screen { ascii, ..self }
    }

    fn painted(&self, style: &str, text: &str) -> String {
        if self.colour && !text.is_empty() {
            format!("\u{1b}[{style}m{text}\u{1b}[0m")
        } else {
            text.to_owned()
        }
    }
}

/// ANSI styles: what answers the question, what a caution costs, what is not due.
const ANSWER: &str = "1";
const RED: &str = "31";
const STRUCK: &str = "9";

/// A view as plain text for a screen.
pub fn text(view: &View, screen: &Screen) -> String {
    let view = view.visible();
    let mut out = String::new();
    blocks(&view.blocks, screen, &mut out);
    if screen.ascii {
        out = in_ascii(&out);
    }
    out
}

fn blocks(list: &[Block], screen: &Screen, out: &mut String) {
    let mut headed = false;
    for block in list {
        // a heading stands on its table
        let above = if headed { "" } else { "\n" };
        headed = matches!(block, Block::Heading(_));
        match block {
            Block::Answer(text) => out.push_str(&paragraph(text, ANSWER, screen)),
            Block::Sentence(text) => out.push_str(&(wrap(text, "", screen.width) + "\n")),
            Block::Heading(text) => {
                out.push_str(&format!("\n{}\n", wrap(text, "", screen.width)));
            }
            Block::Table(grid) => {
                let shorter = grid.on_screen.as_deref().filter(|_| !screen.more);
                let grid = shorter.unwrap_or(grid);
                out.push_str(&if grid.stacked {
                    format!("{above}{}", stacked(grid, screen))
                } else {
                    format!("{above}{}\n", table(grid, screen))
                });
            }
            Block::Notes(lines) => lines.iter().for_each(|line| {
                out.push_str(&(wrap(&format!("- {line}"), "  ", screen.width) + "\n"));
            }),
            Block::Cautions(said) => out.push_str(&cautions(said, screen)),
            Block::More(hidden) if screen.more => blocks(hidden, screen, out),
            Block::Brief(shown) if !screen.more => blocks(shown, screen, out),
            Block::More(_) | Block::Brief(_) => {}
        }
    }
}

/// A paragraph in one style, which ends and begins anew at each line.
fn paragraph(text: &str, style: &str, screen: &Screen) -> String {
    wrap(text, "", screen.width)
        .lines()
        .map(|line| screen.painted(style, line) + "\n")
        .collect()
}

/// How many cautions a screen shows unless all are asked for, and how many lines of eighty columns they and the line that counts the
/// others may take. Those that cost a known sum are shown however long they are.
const SHOWN: (usize, usize) = (5, 12);

/// The cautions: what each costs to the left, what it is and what to do beside it.
fn cautions(said: &[Said], screen: &Screen) -> String {
    if screen.more {
        return said_in(said, screen).concat();
    }
    let (most, lines) = SHOWN;
    let room = (lines * 80).div_ceil(screen.width.min(80));
    let fits = |shown: &usize| {
        let counted = usize::from(*shown < said.len());
        let taken: usize = said_in(&said[..*shown], screen)
            .iter()
            .map(|one| one.lines().count())
            .sum();
        taken + counted <= room
    };
    let most = most.min(said.len());
    let with_sum = |one: &&Said| one.amount.starts_with(|c: char| c.is_ascii_digit());
    let least = said.iter().take(most).take_while(with_sum).count().max(1);
    let fitting = (1..=most).rev().find(fits).unwrap_or(0);
    let shown = fitting.max(least).min(most);
    let mut out = said_in(&said[..shown], screen).concat();
    let others = match said.len() - shown {
        0 => return out,
        1 => "is one more".to_owned(),
        others => format!("are {others} more"),
    };
    let line = format!("There {others}: `--more` shows every caution.");
    out.push_str(&(wrap(&line, "", screen.width) + "\n"));
    out
}

/// Each of these cautions as its lines.
fn said_in(said: &[Said], screen: &Screen) -> Vec<String> {
    let column = said.iter().map(|one| width(&one.amount)).max().unwrap_or(0);
    let indent = " ".repeat(column + 4);
    let one = |one: &Said| {
        let said = match one.id {
            id if screen.more && !id.is_empty() => format!("{} [{id}]", one.text),
            _ => one.text.clone(),
        };
        let text = wrap_from(&said, &indent, screen.width, column + 4);
        let pad = " ".repeat(column - width(&one.amount) + 2);
        let amount = screen.painted(RED, &one.amount);
        format!("{pad}{amount}  {text}\n")
    };
    said.iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_cautions_are_shown_and_the_others_counted() {
        let mut view = View::default();
        let said = |amount: &str| Said {
            amount: amount.to_owned(),
            text: "Ask the seller first.".to_owned(),
            id: "",
        };
        view.cautions(vec![
            said("510.03"),
            said("57.87"),
            said("3.20"),
            said("unknown"),
            said(""),
            said(""),
            said(""),
        ]);
        let shown = text(&view, &Screen::default());
        assert_eq!(shown.matches("Ask the seller").count(), 5, "{shown}");
        assert!(
            shown.contains("   510.03  Ask") && shown.contains("  unknown  Ask"),
            "{shown}"
        );
        assert!(
            shown.contains("There are 2 more: `--more` shows every caution."),
            "{shown}"
        );
        let whole = text(&view, &Screen::default().with_more(true));
        assert_eq!(whole.matches("Ask the seller").count(), 7, "{whole}");
    }

    #[test]
    fn long_cautions_leave_room_but_none_with_a_sum_is_hidden() {
        let said = |amount: &str| Said {
            amount: amount.to_owned(),
            text: "Ask the seller first. ".repeat(12),
            id: "",
        };
        let shown = |said: Vec<Said>| {
            let mut view = View::default();
            view.cautions(said);
            text(&view, &Screen::default())
        };
        let costly = shown(vec![said("90.00"); 6]);
        assert_eq!(costly.matches("90.00").count(), 5, "{costly}");
        assert!(costly.contains("There is one more"), "{costly}");
        let others = shown(vec![said("unknown"); 6]);
        assert_eq!(others.matches("unknown").count(), 2, "{others}");
        assert!(others.lines().count() <= 12, "{others}");
    }

    #[test]
    fn what_is_brief_gives_way_to_the_whole() {
        let (mut view, mut brief, mut more) = (View::default(), View::default(), View::default());
        brief.say("The two largest.");
        more.say("All of them.");
        view.brief(brief);
        view.more(more);
        assert_eq!(text(&view, &Screen::default()), "The two largest.\n");
        let whole = text(&view, &Screen::default().with_more(true));
        assert_eq!(whole, "All of them.\n");
        assert_eq!(crate::report::layout::markdown(&view), "All of them.\n\n");
    }

    #[test]
    fn signs_and_styles_are_those_the_terminal_has() {
        let mut view = View::default();
        view.answer("Landed cost 12.00 GBP – 2 × 3.");
        assert_eq!(
            text(&view, &Screen::default().in_ascii(true)),
            "Landed cost 12.00 GBP - 2 x 3.\n"
        );
        assert_eq!(
            text(&view, &Screen::default().in_colour(true)),
            "\u{1b}[1mLanded cost 12.00 GBP – 2 × 3.\u{1b}[0m\n"
        );
    }
}
