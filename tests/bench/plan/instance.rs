//! Peer instances in the search's compiled form: their own rules (a limit, a fee, duty by offer, tax half up).

use landwaiter::plan::{Case, Cases, Model, NO_LIMIT, Offer, PackageCost, UNIT};

const LOW: i64 = 13_500;
const FEE: i64 = 1_200;

/// A seller of an instance.
#[derive(Debug, Clone)]
pub(super) struct Shop {
    free: i64,
    spend: i64,
    off: i64,
    bands: Vec<(i64, i64)>,
}

/// An instance with its rules.
#[derive(Debug, Clone)]
pub(super) struct Instance {
    pub(super) model: Model,
    shops: Vec<Shop>,
    duty: Vec<i64>,
    pub(super) budget: i64,
}

impl Instance {
    /// Reads the text of an instance.
    pub(super) fn read(text: &str) -> Instance {
        let mut all = Instance {
            model: Model::default(),
            shops: Vec::new(),
            duty: Vec::new(),
            budget: 0,
        };
        for line in text.lines() {
            let mut cells = line.split_whitespace();
            let kind = cells.next().unwrap_or_default();
            let n: Vec<i64> = cells.map(|c| c.parse().unwrap()).collect();
            match kind {
                "plan" => {
                    all.model.places = n[0] as usize;
                    all.model.required = if n[0] == 64 {
                        u64::MAX
                    } else {
                        (1 << n[0]) - 1
                    };
                    all.model.sellers = n[1] as usize;
                    all.budget = n[2];
                }
                "seller" => {
                    let bands = n[5..].chunks(2).map(|b| (b[0], b[1])).collect();
                    all.shops.push(Shop {
                        free: n[1],
                        spend: n[2],
                        off: n[3],
                        bands,
                    });
                }
                "offer" => {
                    all.duty.push(n[4]);
                    all.model.offers.push(Offer {
                        seller: n[1] as usize,
                        places: 1 << n[0],
                        mass: n[3],
                        goods: n[2],
                        weight: n[3],
                        ..Offer::default()
                    });
                }
                _ => {}
            }
        }
        all
    }
}

impl PackageCost for Instance {
    fn exact(&self, seller: usize, offers: &[u32]) -> Option<i64> {
        let (mut goods, mut weight, mut duty) = (0, 0, 0);
        for o in offers {
            let offer = &self.model.offers[*o as usize];
            goods += offer.goods;
            weight += offer.weight;
            duty += self.duty[*o as usize];
        }
        let s = &self.shops[seller];
        let net = if s.spend >= 0 && goods >= s.spend {
            goods - s.off
        } else {
            goods
        };
        let freight = if s.free >= 0 && goods >= s.free {
            0
        } else {
            s.bands
                .iter()
                .find(|(up, _)| weight <= *up)
                .map_or(0, |b| b.1)
        };
        let x = net + freight + if net <= LOW { 0 } else { duty + FEE };
        Some(x + (x + 2) / 5)
    }

    fn cases(&self, seller: usize) -> Cases {
        let s = &self.shops[seller];
        let mine: Vec<usize> = (0..self.model.offers.len())
            .filter(|o| self.model.offers[*o].seller == seller)
            .collect();
        let taxed = |x: i64| x * 6 * (UNIT / 5);
        let low: Vec<i64> = mine
            .iter()
            .map(|o| taxed(self.model.offers[*o].goods))
            .collect();
        let high: Vec<i64> = mine
            .iter()
            .map(|o| taxed(self.model.offers[*o].goods + self.duty[*o]))
            .collect();
        let heaviest: i64 = (0..self.model.places)
            .map(|p| {
                mine.iter()
                    .map(|o| &self.model.offers[*o])
                    .filter(|o| o.places == 1 << p)
                    .map(|o| o.weight)
                    .max()
                    .unwrap_or(0)
            })
            .sum();
        let mut freights: Vec<(i64, i64, i64)> = Vec::new();
        for (up, price) in &s.bands {
            freights.push((0, if *up >= heaviest { NO_LIMIT } else { *up }, *price));
            if *up >= heaviest {
                break;
            }
        }
        if s.free >= 0 {
            freights.push((s.free, NO_LIMIT, 0));
        }
        let vouchers = if s.spend >= 0 {
            vec![(0, 0), (s.spend, s.off)]
        } else {
            vec![(0, 0)]
        };
        let mut cases = Vec::new();
        for (spend, off) in vouchers {
            for (free, up, price) in &freights {
                let fixed = |fee: i64| taxed(price - off + fee) - 2 * (UNIT / 5);
                let goods_least = spend.max(*free);
                if goods_least <= LOW + off {
                    cases.push(Case {
                        class: 0,
                        fixed: fixed(0),
                        goods_least,
                        goods_most: LOW + off,
                        weight_most: *up,
                    });
                }
                cases.push(Case {
                    class: 1,
                    fixed: fixed(FEE),
                    goods_least,
                    goods_most: NO_LIMIT,
                    weight_most: *up,
                });
            }
        }
        Cases {
            classes: vec![low, high],
            cases,
        }
    }
}
