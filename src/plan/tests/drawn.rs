//! Small books with all rules mixed, drawn from a number. Everything in them is invented.

use std::fmt::Write as _;

use super::books::PLACES;
use crate::made::Dice;
use crate::plan::Wishes;

/// The destinations: the first eight are drawn for every other book.
const TO: [&str; 32] = [
    "GB", "DE", "FR", "US", "CA-ON", "NO", "AU", "JP", "CH", "NZ", "SG", "KR", "NL", "IE", "DK",
    "SE", "PL", "HU", "CZ", "IT", "ES", "BR", "IN", "IS", "IM", "JE", "GG", "HK", "MX", "ZA", "XI",
    "LI",
];

/// Freight by mass to everywhere.
pub(super) const FREIGHT: &str = "schedule,dispatch,destination,channel,up_to_g,price,currency,pro_rata,extra_per_kg,packing_percent,packing_g,valid_from,source
steps,*,*,*,300,5.20,USD,,,,,2020-01-01,for this check
steps,*,*,*,900,9.90,USD,,,,,2020-01-01,for this check
steps,*,*,*,2500,19.40,USD,,,,,2020-01-01,for this check
steps,*,*,*,9000,44.00,USD,,3.10,,,2020-01-01,for this check
packed,*,*,*,1000,8.00,EUR,yes,,8,120,2020-01-01,for this check
packed,*,*,*,4000,21.00,EUR,yes,2.20,8,120,2020-01-01,for this check
";

/// Where sellers send from, their money, how many of its hundredths a penny is, and whether it has any decimals.
const FROM: [(&str, &str, u64, bool); 7] = [
    ("CN", "USD", 134, true),
    ("TW", "USD", 134, true),
    ("DE", "EUR", 116, true),
    ("GB", "GBP", 100, true),
    ("US", "USD", 134, true),
    ("CN", "CNY", 950, true),
    ("JP", "JPY", 200, false),
];

/// Keys of joints, and the places that they join.
const JOINTS: [(&str, &str, &str); 5] = [
    ("freehub", "wheels", "cassette"),
    ("steerer", "fork", "stem"),
    ("bar_clamp", "handlebar", "stem"),
    ("seatpost_diameter", "frame", "seatpost"),
    ("brake_fluid", "shifters", "calipers"),
];

/// Most choices of a book, before what they need and how they fit is looked at.
const MOST: usize = 60;

/// A drawn book, and the question.
pub(super) struct Drawn {
    pub(super) to: &'static str,
    pub(super) text: Vec<(&'static str, String)>,
    pub(super) wishes: Wishes,
    /// What it holds, for the count of what was tried.
    pub(super) holds: Vec<&'static str>,
}

struct Seller {
    name: &'static str,
    from: (&'static str, &'static str, u64, bool),
}

impl Seller {
    /// An amount of pence in the seller's money.
    fn money(&self, pence: u64) -> String {
        let units = pence * self.from.2 / 100;
        if self.from.3 {
            format!("{}.{:02}", units / 100, units % 100)
        } else {
            units.to_string()
        }
    }
}

const HEAD: [&str; 16] = [
    "part",
    "place",
    "role",
    "standing",
    "seller",
    "price",
    "currency",
    "parcel",
    "paid",
    "mass_g",
    "packed_g",
    "origin",
    "preference",
    "comes_with",
    "needs",
    "fits",
];

struct Hand {
    dice: Dice,
    sellers: Vec<Seller>,
    parts: String,
    /// Places with a choice, by number in [`PLACES`].
    open: Vec<usize>,
    joints: Vec<(&'static str, &'static str, &'static str)>,
    /// Parts that can be had, by name.
    names: Vec<String>,
    holds: Vec<&'static str>,
}

/// The book of a number.
pub(super) fn drawn(number: u64) -> Drawn {
    let mut dice = Dice(number.wrapping_mul(0x9e37_79b9).wrapping_add(41));
    let to = if number.is_multiple_of(2) {
        TO[(number / 2 % 8) as usize]
    } else {
        TO[(number / 2 % TO.len() as u64) as usize]
    };
    let names = ["Amberway", "Brackwater", "Cinderfold", "Dunmere"];
    let first = dice.below(7) as usize;
    let sellers = (0..2 + dice.below(3) as usize).map(|at| Seller {
        name: names[at],
        from: FROM[(first + at * (1 + dice.below(2) as usize)) % FROM.len()],
    });
    let sellers = sellers.collect();
    let mut hand = Hand {
        dice,
        sellers,
        parts: HEAD.join(",") + "\n",
        open: Vec::new(),
        joints: Vec::new(),
        names: Vec::new(),
        holds: Vec::new(),
    };
    hand.open_places();
    let all = hand.all_parts();
    let settings = hand.settings(to);
    let text = vec![
        ("settings", settings),
        ("sellers", hand.seller_rows()),
        ("parcels", hand.parcel_rows(all)),
        ("discounts", hand.code_rows()),
        ("parts", hand.parts.clone()),
    ];
    Drawn {
        to,
        text,
        wishes: hand.wishes(),
        holds: hand.holds,
    }
}

impl Hand {
    /// Places with a choice: what makes a bicycle when it comes in one parcel, or any others.
    fn open_places(&mut self) {
        let most = 3 + self.dice.below(3) as usize;
        let of = if self.dice.one_in(3) { 8 } else { 20 };
        while self.open.len() < most {
            let at = self.dice.below(of) as usize;
            if !self.open.contains(&at) {
                self.open.push(at);
            }
        }
        self.open.sort_unstable();
        for joint in JOINTS {
            let open = |place: &str| self.open.iter().any(|at| PLACES[*at].0 == place);
            let (one, other) = (open(joint.1), open(joint.2));
            if (one && other || (one || other) && self.dice.one_in(3)) && !self.dice.one_in(4) {
                self.joints.push(joint);
                self.holds.push("fits");
            }
        }
    }

    /// What a part says at the joints of its places.
    fn fits(&mut self, place: &str, own: bool) -> String {
        let joints: Vec<&str> = self
            .joints
            .iter()
            .filter(|(_, one, other)| place == *one || place == *other)
            .map(|(key, ..)| *key)
            .collect();
        let said = joints.iter().map(|key| {
            let value = if own {
                "28.6"
            } else {
                self.dice
                    .of(&["28.6", "28.6", "28.6", "31.8", "31.8", "28.6|31.8"])
            };
            format!("{key}={value}")
        });
        said.collect::<Vec<_>>().join(" + ")
    }

    fn row(&mut self, cells: &[(&str, &str)]) {
        let cell = |name: &&str| {
            let found = cells.iter().find(|(column, _)| column == name);
            found.map_or("", |(_, text)| *text)
        };
        let line: Vec<&str> = HEAD.iter().map(cell).collect();
        let _ = writeln!(self.parts, "{}", line.join(","));
    }

    /// All parts; gives whether one of them is on order.
    fn all_parts(&mut self) -> bool {
        let mut choices = 1;
        for nth in 0..self.open.len() {
            let most = (MOST / choices).clamp(1, 4);
            let offers = (2 + self.dice.below(3) as usize).min(most);
            choices *= offers;
            self.offers(self.open[nth], offers);
        }
        if self.dice.one_in(3) && choices * 2 <= MOST {
            self.set_of_two();
        }
        let clamp = self.names.iter().any(|name| name.ends_with("clamped"));
        if clamp {
            let mut sellers: Vec<usize> = (0..self.sellers.len()).collect();
            sellers.truncate(1 + self.dice.below(2) as usize);
            for seller in sellers {
                self.offer(("Rail clamp", "rail-clamp"), seller, (16, 8), &[]);
            }
        }
        self.own_rows()
    }

    /// The offers of one place: the build's, others of the same part, other parts.
    fn offers(&mut self, at: usize, offers: usize) {
        let (place, grams, pounds) = PLACES[at];
        let mut part = (String::new(), String::new(), 0);
        let mut left: Vec<usize> = Vec::new();
        for nth in 0..offers {
            let rival = nth > 0 && !left.is_empty() && self.dice.one_in(3);
            if !rival {
                let clamped = nth + 1 == offers && self.dice.one_in(5);
                let tail = if clamped { " clamped" } else { "" };
                let name = format!("{place} {nth}{tail}");
                part = (
                    name,
                    self.fits(place, false),
                    grams * (70 + self.dice.below(61)) / 100,
                );
                left = (0..self.sellers.len()).collect();
            }
            let fits = part.1.clone();
            if nth == 0 && self.dice.one_in(7) {
                self.holds.push("a part in hand that may go");
                let (paid, mass) = (
                    format!("{}.00", 5 + self.dice.below(90)),
                    part.2.to_string(),
                );
                self.names.push(part.0.clone());
                let name = part.0.clone();
                self.row(&[
                    ("part", &name),
                    ("place", place),
                    ("role", "build"),
                    ("standing", "in-hand"),
                    ("paid", &paid),
                    ("mass_g", &mass),
                    ("fits", &fits),
                ]);
                left.clear();
                continue;
            }
            let drawn = self.dice.below(left.len() as u64) as usize;
            let seller = left.remove(drawn);
            let role = match (nth, rival) {
                (0, _) => "build",
                (_, true) => "rival",
                (_, false) => "option",
            };
            let needs = if part.0.ends_with("clamped") {
                self.holds.push("needs");
                "Rail clamp"
            } else {
                ""
            };
            let more = [("role", role), ("needs", needs), ("fits", fits.as_str())];
            let name = part.0.clone();
            self.offer((&name, place), seller, (part.2.max(1), pounds), &more);
            if role == "option" && self.dice.one_in(5) {
                self.bundled(&name);
            }
        }
    }

    /// One offer of a seller.
    fn offer(
        &mut self,
        (name, place): (&str, &str),
        seller: usize,
        (mass, pounds): (u64, u64),
        more: &[(&str, &str)],
    ) {
        // about half of what is usual, so that limits of value lie among the parcels
        let pence = pounds * (20 + self.dice.below(81));
        let price = self.sellers[seller].money(pence.max(150));
        let (seller, money) = (self.sellers[seller].name, self.sellers[seller].from.1);
        let origin = self.dice.of(&["CN", "CN", "TW", "DE", "JP", ""]);
        let prefers = if !origin.is_empty() && self.dice.one_in(6) {
            "yes"
        } else {
            ""
        };
        let packed = if self.dice.one_in(3) {
            (mass + 120).to_string()
        } else {
            String::new()
        };
        let mass = mass.to_string();
        let mut cells = vec![
            ("part", name),
            ("place", place),
            ("standing", "to-order"),
            ("seller", seller),
            ("price", &price),
            ("currency", money),
            ("mass_g", &mass),
            ("packed_g", &packed),
            ("origin", origin),
            ("preference", prefers),
        ];
        cells.extend(more);
        if !more.iter().any(|(column, _)| *column == "role") {
            let again = self.names.iter().any(|known| known == name);
            cells.push(("role", if again { "rival" } else { "option" }));
        }
        self.row(&cells);
        self.names.push(name.to_owned());
    }

    /// A part that comes with an option, for a place that something in hand fills.
    fn bundled(&mut self, host: &str) {
        let place = self.dice.of(&["bell", "hanger", "top-cap", "spacers"]);
        if self.names.iter().any(|name| name.starts_with(place)) {
            return;
        }
        let (name, mass) = (
            format!("{place} kit"),
            (5 + self.dice.below(40)).to_string(),
        );
        self.row(&[
            ("part", &name),
            ("place", place),
            ("role", "option"),
            ("standing", "bundled"),
            ("mass_g", &mass),
            ("comes_with", host),
        ]);
        self.names.push(name);
        self.holds.push("a bundle");
    }

    /// One piece for two places.
    fn set_of_two(&mut self) {
        let (one, other) = (PLACES[self.open[0]], PLACES[self.open[1]]);
        let (name, at) = ("Set of two", format!("{} + {}", one.0, other.0));
        let both = [self.fits(one.0, false), self.fits(other.0, false)];
        let both: Vec<&str> = both
            .iter()
            .map(String::as_str)
            .filter(|cell| !cell.is_empty())
            .collect();
        let keys: Vec<&str> = both
            .iter()
            .filter_map(|cell| cell.split('=').next())
            .collect();
        // one part says one thing of a joint
        let fits = if keys.len() == 2 && keys[0] == keys[1] {
            both[0].to_owned()
        } else {
            both.join(" + ")
        };
        let seller = self.dice.below(self.sellers.len() as u64) as usize;
        let figures = ((one.1 + other.1) * 9 / 10, one.2 + other.2);
        self.offer(
            (name, &at),
            seller,
            figures,
            &[("role", "option"), ("fits", &fits)],
        );
        self.holds.push("one piece for two places");
    }

    /// What is in hand at the other places; one of them may be on order. Gives whether one is.
    fn own_rows(&mut self) -> bool {
        let on_order = self.dice.one_in(5);
        for at in 0..PLACES.len() {
            if self.open.contains(&at) {
                continue;
            }
            let (place, grams, _) = PLACES[at];
            let (name, mass, fits) = (
                format!("Own {place}"),
                grams.to_string(),
                self.fits(place, true),
            );
            let seller = (self.sellers[0].name, self.sellers[0].from.1);
            let mut cells = vec![
                ("part", name.as_str()),
                ("place", place),
                ("role", "build"),
                ("standing", "in-hand"),
                ("mass_g", &mass),
                ("fits", &fits),
            ];
            let price = self.sellers[0].money(4_000);
            if on_order && place == "battery" {
                cells[3].1 = "on-order";
                cells.extend([
                    ("seller", seller.0),
                    ("price", &price),
                    ("currency", seller.1),
                    ("parcel", "sent"),
                ]);
                self.holds.push("a parcel on its way");
            }
            self.row(&cells);
        }
        on_order
    }

    fn settings(&mut self, to: &str) -> String {
        let fee = self.dice.of(&["0 %", "1.75 %", "2.75 %"]);
        let remedies = self.dice.of(&["count", "count", "show"]);
        format!(
            "setting,value\ndestination,{to}\ndate,2026-09-23\nkind,gravel\ngears,electronic\ncard_fee,{fee}\nremedies,{remedies}\n"
        )
    }

    fn parcel_rows(&self, on_order: bool) -> String {
        let head = "seller,parcel,ordered\n";
        if on_order {
            format!("{head}{},sent,2026-09-14\n", self.sellers[0].name)
        } else {
            head.to_owned()
        }
    }

    fn seller_rows(&mut self) -> String {
        let mut text = String::from(
            "seller,dispatch,currency,sender,freight,free_freight_over,insurance,collects_tax,prices_include,terms,channel,handling\n",
        );
        for seller in &self.sellers {
            let dice = &mut self.dice;
            let flat = seller.money(400 + 100 * dice.below(25));
            let freight = dice.of(&[&flat, &flat, "steps", "packed"]).to_owned();
            let over = seller.money(4_000 + 500 * dice.below(50));
            let free = dice.of(&["", &over]).to_owned();
            let sender = dice.of(&["business", "business", "business", "marketplace", "private"]);
            let insurance = dice.of(&["", "", "1 %"]);
            let collects = dice.of(&["yes", "no", "no"]);
            let holds_tax = dice.of(&["", "", "", "sale-tax"]);
            let terms = dice.of(&["", "", "", "", "", "", "", "", "", "", "DAP", "DDP"]);
            let fee = dice.of(&["", "2.5 % min 12.50", "12.00"]);
            let channel = dice.of(&["courier", "post"]);
            for (what, is) in [
                (
                    "freight by mass",
                    ["steps", "packed"].contains(&freight.as_str()),
                ),
                ("free freight", !free.is_empty()),
                ("tax taken at the sale", collects == "yes"),
                ("prices that hold tax", !holds_tax.is_empty()),
                ("a carrier's fee", !fee.is_empty()),
            ] {
                self.holds.extend(is.then_some(what));
            }
            let _ = writeln!(
                text,
                "{},{},{},{sender},{freight},{free},{insurance},{collects},{holds_tax},{terms},{channel},{fee}",
                seller.name, seller.from.0, seller.from.1
            );
        }
        text
    }

    fn code_rows(&mut self) -> String {
        let mut text = String::from(
            "code,seller,scope,part,percent,amount,currency,min_spend,max_off,order,group,pays\n",
        );
        for (nth, seller) in self.sellers.iter().enumerate() {
            for at in 0..self.dice.below(3) {
                let dice = &mut self.dice;
                let least = seller.money(3_000 + 1_000 * dice.below(25));
                let least = dice.of(&["", &least, &least]).to_owned();
                if !least.is_empty() {
                    self.holds.push("a code with a least spend");
                }
                let scope = dice.of(&["basket", "basket", "basket", "freight"]);
                let (percent, amount, money) = if scope == "freight" || dice.one_in(2) {
                    ((3 + dice.below(18)).to_string(), String::new(), "")
                } else {
                    (
                        String::new(),
                        seller.money(300 + 100 * dice.below(25)),
                        seller.from.1,
                    )
                };
                let cap = seller.money(500 + 100 * dice.below(20));
                let cap = if percent.is_empty() {
                    ""
                } else {
                    dice.of(&["", "", &cap])
                }
                .to_owned();
                let group = dice.of(&["", "", "one"]);
                let pays = if scope == "basket" {
                    dice.of(&["", "", "", "credit"])
                } else {
                    ""
                };
                let _ = writeln!(
                    text,
                    "C{nth}x{at},{},{scope},,{percent},{amount},{money},{least},{cap},{at},{group},{pays}",
                    seller.name
                );
            }
        }
        text
    }

    fn wishes(&mut self) -> Wishes {
        let mut wishes = Wishes::default();
        if self.dice.one_in(4) {
            let at = self.dice.below(self.names.len() as u64) as usize;
            wishes.keep.push(self.names[at].clone());
            self.holds.push("--keep");
        }
        if self.dice.one_in(6) {
            let at = self.dice.below(self.sellers.len() as u64) as usize;
            wishes.without.push(self.sellers[at].name.to_owned());
            self.holds.push("--without");
        }
        if self.dice.one_in(3) {
            wishes.max_sellers = Some(1 + self.dice.below(2) as usize);
            self.holds.push("--max-sellers");
        }
        wishes
    }
}
