//! Where the names of marks stand: nearest to their own mark, else with a line in ink that leads to it. Of several orders in which
//! names can be set, the one that leaves fewest marks without one and shortens fewest.

use super::scatter::{Box4, Field, Mark, clear};
use super::sketch::{Hang, Sketch, fitted, width_of};

/// What is taken of a field.
#[derive(Debug, Clone, Default)]
struct Room {
    /// What names must leave free: marks, lines, other names.
    taken: Vec<Box4>,
    /// The names, which no line to another goes through.
    names: Vec<Box4>,
}

/// Where a name hangs: from which point, and to which side.
type Location = (i64, i64, Hang);

/// A mark that is to have its name, with what is around it.
struct Naming<'a> {
    field: &'a Field,
    /// The middle of the mark.
    at: (i64, i64),
    size: i64,
    dots: &'a [(i64, i64)],
    room: &'a Room,
    /// How far beside its mark a name is tried first, in heights of a line.
    first: usize,
    /// Whether a line to a name may go through another name, as a last resort.
    crosses: bool,
}

impl Naming<'_> {
    /// The vertical position of the line of text that is a number of lines under the mark.
    fn down(&self, lines: i64) -> i64 {
        self.at.1 + self.size * 7 / 20 + lines * self.size * 5 / 4
    }

    /// The places that are tried, the nearest first.
    fn tries(&self) -> impl Iterator<Item = Location> {
        let x = self.at.0;
        let lines = [
            0, -1, 1, -2, 2, -3, 3, -4, 4, -5, 5, -6, 6, -7, 7, -8, 8, -9, 9, -10, 10, -11, 11,
        ];
        let at = move |lines: i64, gap: i64| {
            let y = self.down(lines);
            let middle = (gap == 60).then_some((x, y, Hang::Middle));
            let sides = [(x + gap, y, Hang::Start), (x - gap, y, Hang::End)];
            sides.into_iter().chain(middle)
        };
        let gap = move |far: i64, lines: i64| match (far, lines) {
            (0, 0) => 130,
            (0, _) => 60,
            (far, _) => self.size * far,
        };
        let mut gaps = [0, 2, 4, 9, 14];
        gaps.rotate_left(self.first.min(4));
        gaps.into_iter().flat_map(move |far| {
            lines
                .into_iter()
                .flat_map(move |lines| at(lines, gap(far, lines)))
        })
    }

    /// Whether a name lies within the sides of the field.
    fn is_inside(&self, place: &Location, width: i64) -> bool {
        let (from, to) = span(place, width);
        to < self.field.right && from > self.field.left
    }

    /// Whether a name needs a line that leads to it: it is far off, or another mark is about as near to it as its own.
    fn is_far(&self, place: &Location, width: i64) -> bool {
        if (place.1 - self.down(0)).abs() > self.size * 2 {
            return true;
        }
        let name = name_box(place, width, self.size);
        let own = off(name, self.at);
        let mut others = self.dots.iter().filter(|dot| **dot != self.at);
        others.any(|dot| off(name, *dot) * 4 < own * 9)
    }

    /// Whether the line to a name touches no other mark. Marks that lie on this one are touched by any.
    fn is_led(&self, place: &Location, width: i64) -> bool {
        let others = || self.dots.iter().filter(|dot| apart(self.at, **dot, 140));
        let within = |(x, y): (i64, i64), name: &Box4| !clear((x, y, x, y), *name);
        let mut on_the_way = self.leader(place, width).into_iter();
        on_the_way.all(|point| {
            others().all(|dot| apart(point, *dot, 75))
                && (self.crosses || !self.room.names.iter().any(|name| within(point, name)))
        })
    }

    /// Points of the line that leads to a name: from its mark to the nearer end of the name.
    fn leader(&self, place: &Location, width: i64) -> Vec<(i64, i64)> {
        let ((x, y), (to_x, to_y)) = (self.at, leader_end(place, width, self.at, self.size));
        let step = |at: i64| (x + (to_x - x) * at / 64, y + (to_y - y) * at / 64);
        (1..=64).map(step).collect()
    }

    /// Whether nothing stands where a name would.
    fn is_free(&self, place: &Location, width: i64) -> bool {
        let own = name_box(place, width, self.size);
        self.is_inside(place, width)
            && own.1 > self.field.top - self.size
            && own.3 < self.field.bottom
            && self.room.taken.iter().all(|other| clear(own, *other))
    }

    /// Whether no mark and no name stands where a name would; lines may, unless they would strike it through.
    fn is_over_lines(&self, place: &Location, width: i64) -> bool {
        let own = name_box(place, width, self.size);
        let core = (
            own.0,
            place.1 - self.size * 3 / 5,
            own.2,
            place.1 - self.size / 10,
        );
        let flat = |line: &&Box4| line.2 - line.0 > line.3 - line.1;
        if (self.room.taken.iter().filter(flat)).any(|line| !clear(core, *line)) {
            return false;
        }
        self.is_inside(place, width)
            && own.1 > self.field.top - self.size
            && own.3 < self.field.bottom
            && self.room.names.iter().all(|other| clear(own, *other))
            && self.dots.iter().all(|dot| off(own, *dot) > 80_i64.pow(2))
    }

    /// Which of the names, the longest first, has a place, and where: nearest to its own mark, else with a line that leads to it.
    /// A name that has neither is left to the table, as it would be read as another's.
    fn find(&self, widths: [i64; 4]) -> Option<(usize, Location)> {
        let first = |fits: &dyn Fn(&Location, i64) -> bool| {
            let of = |at: usize| Some((at, self.tries().find(|place| fits(place, widths[at]))?));
            (0..4).find_map(of)
        };
        let near =
            |place: &Location, width| self.is_free(place, width) && !self.is_far(place, width);
        let led = |place: &Location, width| self.is_free(place, width) && self.is_led(place, width);
        let over =
            |place: &Location, width| self.is_over_lines(place, width) && self.is_led(place, width);
        let whole = |fits: &dyn Fn(&Location, i64) -> bool| {
            let place = self.tries().find(|place| fits(place, widths[0]))?;
            Some((0, place))
        };
        whole(&near)
            .or_else(|| whole(&led))
            .or_else(|| whole(&over))
            .or_else(|| first(&|place, width| near(place, width) || led(place, width)))
            .or_else(|| first(&over))
    }
}

/// The room a name takes.
pub(super) fn name_box(place: &Location, width: i64, size: i64) -> Box4 {
    let (from, to) = span(place, width);
    (from, place.1 - size, to, place.1 + size / 4)
}

/// The square of how far a point is from a box.
pub(super) fn off(one: Box4, (x, y): (i64, i64)) -> i64 {
    let beside = (one.0 - x).max(x - one.2).max(0);
    let over = (one.1 - y).max(y - one.3).max(0);
    beside.pow(2) + over.pow(2)
}

/// Where the line to a name ends: at its nearer end, or under it where it stands over its mark.
fn leader_end(place: &Location, width: i64, (x, y): (i64, i64), size: i64) -> (i64, i64) {
    let own = name_box(place, width, size);
    let middle = place.1 - size * 7 / 20;
    match x {
        left if left < own.0 => (own.0 - 15, middle),
        right if right > own.2 => (own.2 + 15, middle),
        _ => (x, if y > own.3 { own.3 } else { own.1 }),
    }
}

/// From where to where a name reaches.
fn span(place: &Location, width: i64) -> (i64, i64) {
    match place.2 {
        Hang::Start => (place.0, place.0 + width),
        Hang::Middle => (place.0 - width / 2, place.0 + width / 2),
        Hang::End => (place.0 - width, place.0),
    }
}

/// A name that has a place.
struct Set {
    text: String,
    /// Whether nothing of it is cut off.
    whole: bool,
    bold: bool,
    place: Location,
    /// From its mark to the name, where it needs a line.
    leader: Option<[(i64, i64); 2]>,
}

/// The order in which marks get their names, and how far beside its mark a name is tried first.
const ORDERS: [(Order, usize); 13] = [
    (Order::Given, 0),
    (Order::Down, 0),
    (Order::Up, 0),
    (Order::Right, 0),
    (Order::Left, 0),
    (Order::Given, 1),
    (Order::Down, 1),
    (Order::Up, 1),
    (Order::Right, 1),
    (Order::Left, 1),
    (Order::Given, 2),
    (Order::Down, 2),
    (Order::Up, 2),
];

/// In which order marks get their names; the build's own comes first in each.
#[derive(Clone, Copy)]
enum Order {
    Given,
    Down,
    Up,
    Right,
    Left,
}

/// Sets the names of marks that are drawn at these points; a mark without a name has none, and so has one for which there is no
/// room: it is in the table.
pub(super) fn name_marks(
    sketch: &mut Sketch,
    field: &Field,
    marks: &[Mark],
    dots: &[(i64, i64)],
    taken: &[Box4],
) {
    let size = sketch.letter;
    let wanted = marks.iter().filter(|mark| !mark.name.is_empty()).count();
    let mut best: Vec<Set> = Vec::new();
    let all = ORDERS.map(|order| (order, false)).into_iter();
    for order in all.chain(ORDERS.map(|order| (order, true))) {
        let found = names_in(order, field, (marks, dots), taken, size);
        // first as many names as there is room for, then as few of them as may be shortened
        let rank = |names: &[Set]| (names.len(), names.iter().filter(|one| one.whole).count());
        if rank(&found) > rank(&best) {
            best = found;
        }
        if rank(&best) == (wanted, wanted) {
            break;
        }
    }
    for name in best {
        if let Some([from, to]) = name.leader {
            sketch.line(from, to, "leader");
        }
        let class = if name.bold { "ink bold" } else { "ink" };
        sketch.text(
            (name.place.0, name.place.1),
            &name.text,
            class,
            name.place.2,
        );
    }
}

/// The names that find a place in one order.
fn names_in(
    ((order, first), crosses): ((Order, usize), bool),
    field: &Field,
    (marks, dots): (&[Mark], &[(i64, i64)]),
    taken: &[Box4],
    size: i64,
) -> Vec<Set> {
    let mut all: Vec<(&Mark, (i64, i64))> = marks.iter().zip(dots.iter().copied()).collect();
    all.retain(|(mark, _)| !mark.name.is_empty());
    let height = |at: (i64, i64)| match order {
        Order::Given => 0,
        Order::Down => at.1,
        Order::Up => -at.1,
        Order::Right => at.0,
        Order::Left => -at.0,
    };
    all.sort_by_key(|(mark, at)| (!mark.build, height(*at)));
    let mut room = Room {
        taken: taken.to_vec(),
        names: Vec::new(),
    };
    let mut found = Vec::new();
    for (mark, at) in all {
        let most = field.right - field.left;
        let texts = [most, most / 2, most / 3, most / 5].map(|most| fitted(&mark.name, most, size));
        let widths = texts.each_ref().map(|text| width_of(text, size));
        let naming = Naming {
            field,
            at,
            size,
            dots,
            room: &room,
            first,
            crosses,
        };
        let Some((which, place)) = naming.find(widths) else {
            continue;
        };
        let width = widths[which];
        let mut leader = None;
        let mut around = Vec::new();
        if naming.is_far(&place, width) {
            leader = Some([at, leader_end(&place, width, at, size)]);
            let way = naming.leader(&place, width);
            around.extend(way.iter().map(|(x, y)| (x - 12, y - 12, x + 12, y + 12)));
        }
        let own = name_box(&place, width, size);
        room.taken.extend(around);
        room.taken.push(own);
        room.names.push(own);
        found.push(Set {
            text: texts[which].clone(),
            whole: texts[which] == mark.name,
            bold: mark.build,
            place,
            leader,
        });
    }
    found
}

/// Whether two points are at least so far from one another.
pub(super) fn apart(one: (i64, i64), other: (i64, i64), distance: i64) -> bool {
    (one.0 - other.0).pow(2) + (one.1 - other.1).pow(2) >= distance.pow(2)
}
