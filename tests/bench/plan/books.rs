//! Books as people have them, made from a number: places with several offers each, sellers with freight by mass, free freight, codes,
//! taxes in their prices, rivals, bundles, parts that need or fit others. Everything in them is invented.

use std::fmt::Write;

use landwaiter::book::{Book, BookFile};
use landwaiter::tables::{File, Tables};
use landwaiter::text::Problems;

/// How large a book is.
#[derive(Debug, Clone, Copy)]
pub(super) struct Size {
    /// Places with a choice.
    pub(super) places: usize,
    /// Offers of each place.
    pub(super) offers: usize,
    /// Sellers.
    pub(super) sellers: usize,
}

/// The places, the dearer ones first, with the mass of a usual part in grams and the price of one in pounds.
pub(super) const PLACES: [(&str, u64, u64); 46] = [
    ("frame", 1300, 620),
    ("wheels", 1600, 480),
    ("crankset", 640, 210),
    ("fork", 500, 190),
    ("shifters", 470, 230),
    ("rear-mech", 300, 160),
    ("cassette", 300, 90),
    ("calipers", 260, 120),
    ("saddle", 210, 80),
    ("handlebar", 250, 95),
    ("tyre", 950, 84),
    ("pedals", 300, 88),
    ("seatpost", 210, 70),
    ("stem", 130, 62),
    ("rotors", 230, 58),
    ("chain", 250, 34),
    ("bottom-bracket", 85, 41),
    ("headset", 85, 44),
    ("thru-axles", 80, 36),
    ("battery", 60, 95),
    ("front-mech", 110, 55),
    ("bar-tape", 80, 22),
    ("bottle-cages", 70, 26),
    ("computer-mount", 28, 24),
    ("power-meter", 120, 260),
    ("front-light", 120, 60),
    ("rear-light", 45, 35),
    ("rack", 600, 70),
    ("mudguard", 500, 45),
    ("saddle-bag", 180, 40),
    ("bell", 25, 12),
    ("seat-clamp", 24, 14),
    ("hoses", 90, 28),
    ("rotor-lockrings", 24, 12),
    ("sealant", 160, 14),
    ("valves", 12, 11),
    ("caliper-bolts", 20, 9),
    ("hanger", 16, 18),
    ("rim-tape", 14, 9),
    ("top-cap", 11, 8),
    ("expander", 30, 16),
    ("spacers", 16, 7),
    ("quick-link", 3, 5),
    ("grommets", 8, 6),
    ("hose-inserts", 3, 6),
    ("computer", 80, 140),
];

/// Chance that repeats itself.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, most: u64) -> u64 {
        self.next() % most.max(1)
    }

    fn one_in(&mut self, times: u64) -> bool {
        self.below(times) == 0
    }

    fn of<'a>(&mut self, all: &[&'a str]) -> &'a str {
        all[self.below(all.len() as u64) as usize]
    }
}

/// Where sellers send from, their money, how many of its minor units are a penny (in hundredths), and whether it has any decimals.
const FROM: [(&str, &str, u64, bool); 8] = [
    ("CN", "USD", 134, true),
    ("CN", "CNY", 950, true),
    ("TW", "USD", 134, true),
    ("JP", "JPY", 200, false),
    ("DE", "EUR", 116, true),
    ("GB", "GBP", 100, true),
    ("US", "USD", 134, true),
    ("CN", "USD", 134, true),
];

struct Seller {
    name: String,
    from: (&'static str, &'static str, u64, bool),
}

impl Seller {
    /// An amount of pence in the seller's money.
    fn money(&self, pence: u64) -> String {
        let (_, _, minor, decimals) = self.from;
        let units = pence * minor / 100;
        if decimals {
            format!("{}.{:02}", units / 100, units % 100)
        } else {
            units.to_string()
        }
    }
}

/// The tables of a book to a destination, by name. The same figures give the same book.
pub(super) fn tables(size: Size, to: &str, seed: u64) -> Vec<(&'static str, String)> {
    let place = to
        .bytes()
        .fold(7u64, |sum, byte| sum * 31 + u64::from(byte));
    let shape = (size.places * 10_000 + size.offers * 100 + size.sellers) as u64;
    let mut chance = Chance(seed ^ (place << 20) ^ (shape << 36));
    let sellers: Vec<Seller> = (0..size.sellers)
        .map(|at| Seller {
            name: format!("Seller {at:02}"),
            from: FROM[(at + chance.below(3) as usize) % FROM.len()],
        })
        .collect();
    let settings = format!(
        "setting,value\ndestination,{to}\ndate,2026-09-23\nkind,gravel\ngears,electronic\ncard_fee,{}\n",
        chance.of(&["0 %", "1.75 %", "2.5 %"])
    );
    vec![
        ("sellers", seller_rows(&mut chance, &sellers)),
        ("discounts", code_rows(&mut chance, &sellers)),
        ("parts", part_rows(&mut chance, size, &sellers)),
        ("settings", settings),
    ]
}

/// Reads the tables of a book to a destination, with a freight table of its own.
pub(super) fn read(to: &str, made: &[(&str, String)]) -> (Book, Tables) {
    let files: Vec<BookFile> = made
        .iter()
        .map(|(name, text)| BookFile {
            path: format!("{name}.csv"),
            table: (*name).to_owned(),
            bytes: text.as_str().into(),
        })
        .collect();
    let freight = File {
        path: "rates/freight.csv".to_owned(),
        name: "freight.csv".to_owned(),
        bytes: freight(to).into_bytes().into(),
        users: true,
    };
    let mut problems = Problems::new();
    let book = Book::read(&files, &mut problems);
    let tables = Tables::load(vec![freight], &mut problems);
    assert!(!problems.refuse(), "{problems:?}");
    (book, tables)
}

/// A freight table of one's own for a destination.
pub(super) fn freight(to: &str) -> String {
    let country = to.split('-').next().unwrap_or(to);
    let mut text = String::from(
        "schedule,dispatch,destination,channel,up_to_g,price,currency,extra_per_kg,packing_percent,packing_g,valid_from\n",
    );
    for (up_to, price) in [
        (500, 6),
        (1000, 9),
        (2000, 14),
        (5000, 25),
        (12000, 48),
        (20000, 80),
    ] {
        let _ = writeln!(
            text,
            "by-mass,*,{country},*,{up_to},{price},USD,9,5,100,2020-01-01"
        );
    }
    text
}

fn seller_rows(chance: &mut Chance, sellers: &[Seller]) -> String {
    let mut text = String::from(
        "seller,dispatch,currency,freight,free_freight_over,insurance,collects_tax,prices_include,terms,channel,handling,transit_days\n",
    );
    for seller in sellers {
        let freight = match chance.below(3) {
            0 => "by-mass".to_owned(),
            _ => seller.money(400 + 100 * chance.below(30)),
        };
        let free = if chance.one_in(2) {
            seller.money(8_000 + 1_000 * chance.below(50))
        } else {
            String::new()
        };
        let _ = writeln!(
            text,
            "{},{},{},{freight},{free},{},{},{},{},{},{},{}",
            seller.name,
            seller.from.0,
            seller.from.1,
            chance.of(&["", "", "", "1 %"]),
            chance.of(&["yes", "no"]),
            chance.of(&["", "", "", "sale-tax"]),
            if chance.one_in(14) { "DDP" } else { "" },
            chance.of(&["courier", "courier", "post"]),
            chance.of(&["", "2.5 % min 12.50", "12.00"]),
            3 + chance.below(12),
        );
    }
    text
}

fn code_rows(chance: &mut Chance, sellers: &[Seller]) -> String {
    let mut text = String::from(
        "code,seller,scope,part,percent,amount,currency,max_off,min_spend,order,group\n",
    );
    for (nth, seller) in sellers.iter().enumerate() {
        for at in 0..chance.below(3) {
            let least = if chance.one_in(3) {
                String::new()
            } else {
                seller.money(5_000 + 1_000 * chance.below(40))
            };
            let (percent, amount, money) = if chance.one_in(2) {
                ((3 + chance.below(13)).to_string(), String::new(), "")
            } else {
                (
                    String::new(),
                    seller.money(500 + 100 * chance.below(30)),
                    seller.from.1,
                )
            };
            let group = if chance.one_in(3) { "one" } else { "" };
            let _ = writeln!(
                text,
                "C{nth}x{at},{},basket,,{percent},{amount},{money},,{least},{at},{group}",
                seller.name
            );
        }
    }
    text
}

/// One part as it is offered: its pounds are those of a usual one, more for a light one.
fn figures(chance: &mut Chance, usual: (u64, u64)) -> (u64, u64) {
    let (grams, pounds) = usual;
    let light = 70 + chance.below(61);
    let mass = (grams * light / 100).max(1);
    let dear = 100 + (130 - light) * (130 - light) / 24;
    let pence = pounds * dear * (80 + chance.below(41)) / 100;
    (mass, pence.max(150))
}

fn part_rows(chance: &mut Chance, size: Size, sellers: &[Seller]) -> String {
    let mut text = String::from(
        "part,place,role,standing,seller,price,currency,quantity,mass_g,packed_g,origin,comes_with,needs,fits\n",
    );
    let joint = chance.one_in(2);
    let need = chance.one_in(2);
    let bundle = chance.one_in(2);
    for (at, (place, grams, pounds)) in PLACES.iter().enumerate() {
        if at >= size.places {
            let _ = writeln!(text, "Own {place},{place},build,in-hand,,,,1,{grams},,,,,");
            continue;
        }
        let mut left: Vec<usize> = Vec::new();
        let mut part = (String::new(), 0, 0, "", "");
        for nth in 0..size.offers {
            let rival = nth > 0 && !left.is_empty() && chance.one_in(3);
            if !rival {
                let (mass, pence) = figures(chance, (*grams, *pounds));
                let fits = match *place {
                    "fork" | "stem" if joint => {
                        chance.of(&["steerer=28.6", "steerer=28.6", "steerer=31.8"])
                    }
                    _ => "",
                };
                part = (
                    format!("{place} {nth:02}"),
                    mass,
                    pence,
                    chance.of(&["CN", "CN", "TW", "TW", "JP", "DE", ""]),
                    fits,
                );
                left = (0..sellers.len()).collect();
            }
            let one = left.remove(chance.below(left.len() as u64) as usize);
            let seller = &sellers[one];
            let (name, mass, pence, origin, fits) = &part;
            let pence = if rival {
                pence * (85 + chance.below(31)) / 100
            } else {
                *pence
            };
            let role = if nth == 0 {
                "build"
            } else if rival {
                "rival"
            } else {
                "option"
            };
            let packed = if chance.one_in(4) {
                (mass + 120).to_string()
            } else {
                String::new()
            };
            let needs = if need && *place == "handlebar" && nth + 1 == size.offers && !rival {
                if size.places > 13 {
                    "stem 00"
                } else {
                    "Own stem"
                }
            } else {
                ""
            };
            let _ = writeln!(
                text,
                "{name},{place},{role},to-order,{},{},{},1,{mass},{packed},{origin},,{needs},{fits}",
                seller.name,
                seller.money(pence),
                seller.from.1,
            );
            if bundle && *place == "frame" && role == "option" && size.places > 17 {
                let _ = writeln!(
                    text,
                    "{name} kit,headset,option,bundled,,,,1,{},,,{name},,",
                    60 + chance.below(40)
                );
            }
        }
    }
    text
}
