//! The seller's side by its form, held against the same sums in whole cents, and its two readings against each other: random
//! offers with discounts of both kinds, least spends, groups, credits, prices that hold tax, and freight that is free above a spend.

use crate::made::{self, Dice};
use crate::rules::sale::Asked;
use crate::rules::{
    AskProgram, AskedLine, Carriage, Code, Cover, Given, Held, LineAmounts, PayProgram, Payer,
    Sale, SaleAmounts, SaleInput, SaleLine, Scratch, WholeRate, Worth, ask, pay,
};
use crate::units::{Dec, Grams, HomeMoney, Percent, Rate, SellerMoney};

/// Ten-thousandths of a percent in one.
const WHOLE: i128 = 1_000_000;

fn cents(units: i128) -> Dec {
    Dec::from_units(units, 2).unwrap()
}

fn sellers(units: i128) -> SellerMoney {
    SellerMoney::of(cents(units))
}

fn home(units: i128) -> HomeMoney {
    HomeMoney::of(cents(units))
}

fn percent(units: i128) -> Percent {
    Percent(Dec::from_units(units, 4).unwrap())
}

/// One over the other, rounded half up; neither is below zero.
fn half_up(over: i128, under: i128) -> i128 {
    (2 * over + under) / (2 * under)
}

/// Gives the units that are left, one each, to the greatest remainders, and among equal ones to the first.
fn topped(mut floors: Vec<i128>, rests: &[i128], whole: i128) -> Vec<i128> {
    let mut left = whole - floors.iter().sum::<i128>();
    let mut turns: Vec<usize> = (0..floors.len()).collect();
    turns.sort_by_key(|at| std::cmp::Reverse(rests[*at]));
    for at in turns {
        if left > 0 {
            floors[at] += 1;
            left -= 1;
        }
    }
    floors
}

fn shared(whole: i128, weights: &[i128]) -> Vec<i128> {
    let even = vec![1; weights.len()];
    let weights = if weights.iter().all(|one| *one == 0) {
        &even
    } else {
        weights
    };
    let sum: i128 = weights.iter().sum();
    let floors = weights.iter().map(|one| whole * one / sum).collect();
    let rests: Vec<i128> = weights.iter().map(|one| whole * one % sum).collect();
    topped(floors, &rests, whole)
}

#[derive(Debug, Clone)]
struct OwnCode {
    /// The lines it covers; none for the freight.
    lines: Option<Vec<bool>>,
    share: bool,
    figure: i128,
    most: Option<i128>,
    min_spend: Option<i128>,
    credit: bool,
    group: &'static str,
}

#[derive(Debug, Clone)]
struct Own {
    /// The price of one in cents, how many, and the packed mass in grams.
    lines: Vec<(i128, u32, i128)>,
    codes: Vec<OwnCode>,
    freight: i128,
    free_over: Option<i128>,
    /// Whether the insurance is a share, and its figure.
    insurance: Option<(bool, i128)>,
    /// The tax that each line's price holds, and whether it is the destination's.
    held: Option<(Vec<i128>, bool)>,
}

fn figure(dice: &mut Dice) -> i128 {
    let most = [1, 400, 20_000, 2_000_000, 3_000_000_000][usize::try_from(dice.below(5)).unwrap()];
    i128::from(dice.below(most))
}

fn sometimes(dice: &mut Dice, many: u64, of: impl Fn(&mut Dice) -> i128) -> Option<i128> {
    dice.one_in(many).then(|| of(dice))
}

fn own_code(dice: &mut Dice, lines: usize) -> OwnCode {
    let share = dice.one_in(2);
    let lines = match dice.below(4) {
        0 => None,
        1 => Some(vec![true; lines]),
        _ => Some((0..lines).map(|_| dice.one_in(2)).collect()),
    };
    OwnCode {
        lines,
        share,
        figure: if share {
            i128::from(dice.below(1_000_001))
        } else {
            figure(dice)
        },
        most: sometimes(dice, 4, figure),
        min_spend: sometimes(dice, 3, figure),
        credit: dice.one_in(3),
        group: ["", "", "a", "b"][usize::try_from(dice.below(4)).unwrap()],
    }
}

fn own(dice: &mut Dice, lines: usize, codes: u64) -> Own {
    let tax = |dice: &mut Dice| i128::from(dice.below(4)) * 71_234;
    let held = match dice.below(4) {
        0 => Some((vec![tax(dice); lines], false)),
        1 => Some(((0..lines).map(|_| tax(dice)).collect(), true)),
        _ => None,
    };
    let mass = |dice: &mut Dice| i128::from(dice.below(3000)) * i128::from(dice.below(2));
    Own {
        lines: (0..lines)
            .map(|_| {
                (
                    figure(dice),
                    u32::try_from(dice.below(5) + 1).unwrap(),
                    mass(dice),
                )
            })
            .collect(),
        codes: (0..dice.below(codes + 1))
            .map(|_| own_code(dice, lines))
            .collect(),
        freight: figure(dice),
        free_over: sometimes(dice, 2, figure),
        insurance: match dice.below(3) {
            0 => None,
            1 => Some((false, figure(dice))),
            _ => Some((true, i128::from(dice.below(100_000)))),
        },
        held,
    }
}

/// What is left while discounts are taken: list, off and credit of each line, and the price and the credit of the freight.
#[derive(Clone)]
struct Left(Vec<[i128; 3]>, i128, i128);

impl OwnCode {
    fn take(&self, left: &mut Left) -> i128 {
        let covers = |at: usize| self.lines.as_ref().is_some_and(|lines| lines[at]);
        let unpaid: Vec<i128> = (left.0.iter().enumerate())
            .map(|(at, [list, off, credit])| if covers(at) { list - off - credit } else { 0 })
            .collect();
        let base = match self.lines {
            None => left.1 - left.2,
            Some(_) => unpaid.iter().sum(),
        };
        let full = if self.share {
            half_up(base * self.figure, WHOLE)
        } else {
            self.figure
        };
        let taken = full.min(self.most.unwrap_or(full)).min(base);
        let paid = usize::from(self.credit);
        match self.lines {
            None if self.credit => left.2 += taken,
            None => left.1 -= taken,
            Some(_) if taken == 0 => {}
            Some(_) => {
                let shares = shared(taken, &unpaid);
                left.0
                    .iter_mut()
                    .zip(shares)
                    .for_each(|(line, own)| line[1 + paid] += own);
            }
        }
        taken
    }
}

impl Own {
    /// Which discounts count, settled group by group.
    fn counting(&self, spend: i128, left: &Left) -> Vec<bool> {
        let mut counts: Vec<bool> = (self.codes.iter())
            .map(|code| code.min_spend.is_none_or(|least| spend >= least))
            .collect();
        for group in ["a", "b"] {
            let members = (0..counts.len())
                .filter(|at| self.codes[*at].group == group && counts[*at])
                .collect::<Vec<_>>();
            let mut best: Option<(i128, usize)> = None;
            for member in &members {
                let mut left = left.clone();
                let others = (0..counts.len())
                    .filter(|at| counts[*at] && (self.codes[*at].group != group || at == member));
                let saved = others.map(|at| self.codes[at].take(&mut left)).sum();
                if best.is_none_or(|(most, _)| saved > most) {
                    best = Some((saved, *member));
                }
            }
            members
                .iter()
                .for_each(|at| counts[*at] = best.is_some_and(|(_, best)| best == *at));
        }
        counts
    }

    /// What the seller asks, in cents.
    fn asked(&self) -> Asked {
        let lists = self
            .lines
            .iter()
            .map(|(price, pieces, _)| price * i128::from(*pieces));
        let lists: Vec<i128> = lists.collect();
        let spend: i128 = lists.iter().sum();
        let free = self.free_over.is_some_and(|over| spend >= over);
        let carriage = if free { 0 } else { self.freight };
        let mut left = Left(
            lists.iter().map(|list| [*list, 0, 0]).collect(),
            carriage,
            0,
        );
        let counts = self.counting(spend, &left);
        let taken = (self.codes.iter().zip(&counts))
            .map(|(code, counts)| counts.then(|| sellers(code.take(&mut left))))
            .collect();
        let mut tax = vec![0; lists.len()];
        for (at, [list, off, credit]) in left.0.iter_mut().enumerate() {
            let Some((percents, at_sale)) = &self.held else {
                break;
            };
            let out = |paid: i128| half_up(paid * WHOLE, WHOLE + percents[at]);
            let (paid, net) = (*list - *off, out(*list - *off));
            *list = out(*list).max(net);
            *off = *list - net;
            if *at_sale {
                tax[at] = paid - net;
            } else {
                *credit = net.min(*credit);
            }
        }
        let masses: Vec<i128> = self.lines.iter().map(|(_, _, mass)| *mass).collect();
        let (freight, credits) = (shared(left.1, &masses), shared(left.2, &masses));
        let goods: Vec<i128> = left.0.iter().map(|[list, off, _]| list - off).collect();
        let insured = goods.iter().sum::<i128>() + left.1;
        let insurance = match self.insurance {
            None => 0,
            Some((true, share)) => half_up(insured * share, WHOLE),
            Some((false, amount)) => amount,
        };
        let insurance = shared(insurance, &goods);
        let line = |at: usize| AskedLine {
            list: sellers(left.0[at][0]),
            off: sellers(left.0[at][1]),
            credit: sellers(left.0[at][2] + credits[at]),
            freight: sellers(freight[at]),
            insurance: sellers(insurance[at]),
            tax_in_price: sellers(tax[at]),
            packed: Grams(Dec::from_units(masses[at], 0).unwrap()),
        };
        Asked {
            lines: (0..lists.len()).map(line).collect(),
            typed: sellers(spend),
            free,
            freight: sellers(carriage),
            taken,
        }
    }

    fn sale<'a>(&'a self, percents: &'a [Percent]) -> Sale<'a> {
        Sale {
            lines: self.lines.len(),
            digits: 2,
            codes: self.codes.iter().map(OwnCode::code).collect(),
            carriage: Carriage::Amount(Given::Known(sellers(self.freight))),
            free_over: self.free_over.map(|over| Given::Known(sellers(over))),
            freight_anyway: false,
            insurance: self.insurance.map(|(share, figure)| worth(share, figure)),
            held: match &self.held {
                None => Held::Nothing,
                Some((_, true)) => Held::AtSale(percents),
                Some((_, false)) => Held::Own(percents[0]),
            },
        }
    }

    fn percents(&self) -> Vec<Percent> {
        let held = self.held.iter().flat_map(|(percents, _)| percents);
        held.map(|one| percent(*one)).collect()
    }

    fn sale_lines(&self) -> Vec<SaleLine> {
        let lines = self.lines.iter();
        lines
            .map(|(price, pieces, mass)| SaleLine {
                price: sellers(*price),
                pieces: *pieces,
                packed: Grams(Dec::from_units(*mass, 0).unwrap()),
            })
            .collect()
    }

    fn exact(&self) -> Asked {
        ask(&self.sale(&self.percents()), &self.sale_lines()).unwrap()
    }
}

fn worth(share: bool, figure: i128) -> Worth {
    if share {
        Worth::Share(Given::Known(percent(figure)))
    } else {
        Worth::Amount(Given::Known(sellers(figure)))
    }
}

impl OwnCode {
    fn code(&self) -> Code<'_> {
        Code {
            cover: self.lines.clone().map_or(Cover::Freight, Cover::Lines),
            worth: worth(self.share, self.figure),
            most: self.most.map(sellers),
            min_spend: self.min_spend.map(sellers),
            credit: self.credit,
            group: self.group,
        }
    }
}

#[test]
fn what_is_asked_is_what_whole_cents_come_to() {
    let (mut lowered, mut lost) = (0, 0);
    for round in 0..made::share(20_000, 3_000) {
        let mut dice = Dice(made::seed() ^ (round << 18) ^ 0xa5c);
        let lines = usize::try_from(dice.below(4) + 1).unwrap();
        let own = own(&mut dice, lines, 4);
        let exact = own.exact();
        assert_eq!(exact, own.asked(), "round {round}: {own:?}");
        lowered += usize::from(
            exact
                .taken
                .iter()
                .flatten()
                .any(|taken| taken.is_positive()),
        );
        lost += exact.taken.iter().filter(|taken| taken.is_none()).count();
    }
    assert!(
        lowered > 500 && lost > 200,
        "{lowered} with a discount, {lost} discounts did not count"
    );
}

/// What is paid, in cents: the sum, its conversion, the card's fee, and by line the five shares and that of the fee.
fn paid(
    lines: &[AskedLine],
    taxes: &[i128],
    (times, over): (i128, i128),
    card: i128,
) -> (i128, i128, i128, Vec<[i128; 6]>) {
    let in_cents = |money: SellerMoney| money.amount().in_units(2).unwrap();
    let mut cells = Vec::new();
    for (line, tax) in lines.iter().zip(taxes) {
        let off = -in_cents(line.off) - in_cents(line.credit);
        let beside = in_cents(line.freight) + in_cents(line.insurance);
        let (held, base) = (
            in_cents(line.tax_in_price),
            in_cents(line.goods().unwrap()) + beside,
        );
        let tax = if held == 0 {
            *tax
        } else {
            held + half_up(tax * beside, base)
        };
        cells.extend([
            in_cents(line.list),
            off,
            in_cents(line.freight),
            in_cents(line.insurance),
            tax,
        ]);
    }
    let sum: i128 = cells.iter().sum();
    let converted = half_up(sum * times, over);
    let fee = half_up(converted * card, WHOLE);
    let floors = cells
        .iter()
        .map(|cell| (cell * times).div_euclid(over))
        .collect();
    let rests: Vec<i128> = cells
        .iter()
        .map(|cell| (cell * times).rem_euclid(over))
        .collect();
    let shares = topped(floors, &rests, converted);
    let goods: Vec<i128> = lines
        .iter()
        .map(|line| in_cents(line.goods().unwrap()))
        .collect();
    let fees = shared(fee, &goods);
    let each = shares.chunks_exact(5).zip(fees);
    (
        sum,
        converted,
        fee,
        each.map(|(c, fee)| [c[0], -c[1], c[2], c[3], c[4], fee])
            .collect(),
    )
}

/// A rate as a quotient of whole numbers.
fn rate(dice: &mut Dice) -> (i128, i128) {
    match dice.below(3) {
        0 => (1, 1),
        1 => (i128::from(dice.below(20_000) + 1), 10_000),
        _ => (10_000, i128::from(dice.below(20_000) + 1)),
    }
}

fn dec_rate((times, over): (i128, i128)) -> Rate {
    let dec = |number: i128| Dec::from_units(number, 0).unwrap();
    Rate::new(dec(times), dec(over)).unwrap()
}

fn payer(card: i128, held: bool) -> Payer {
    Payer {
        paid_digits: 2,
        digits: 2,
        card: percent(card),
        gift: false,
        held,
    }
}

#[test]
fn what_is_paid_is_what_whole_cents_come_to() {
    for round in 0..made::share(20_000, 3_000) {
        let mut dice = Dice(made::seed() ^ (round << 18) ^ 0xbad);
        let lines = usize::try_from(dice.below(4) + 1).unwrap();
        let asked = own(&mut dice, lines, 2).exact();
        let taxes: Vec<i128> = (0..lines).map(|_| figure(&mut dice)).collect();
        let (rate, card) = (rate(&mut dice), i128::from(dice.below(3) * 14_950));
        let held = asked.lines.iter().any(|line| !line.tax_in_price.is_zero());
        let tax: Vec<SellerMoney> = taxes.iter().map(|tax| sellers(*tax)).collect();
        let found = pay(
            (&asked.lines, asked.typed),
            &tax,
            dec_rate(rate),
            payer(card, held),
        )
        .unwrap();
        let (sum, converted, fee, each) = paid(&asked.lines, &taxes, rate, card);
        assert_eq!(
            (found.sum, found.converted, found.card_fee),
            (sellers(sum), home(converted), home(fee)),
            "round {round}: {asked:?}"
        );
        for (line, own) in found.lines.iter().zip(each) {
            let line = [
                line.goods,
                line.discount,
                line.freight,
                line.insurance,
                line.tax_at_sale,
                line.card_fee,
            ];
            assert_eq!(line, own.map(home), "round {round}: {asked:?}");
        }
        let tags = half_up(asked.typed.amount().in_units(2).unwrap() * rate.0, rate.1);
        assert_eq!(found.tags, home(tags));
    }
}

/// The terms of a line whose figures are all supplied, and those figures.
fn supplied(own: &Own, by_mass: bool) -> (Sale<'static>, LineAmounts) {
    let (price, pieces, mass) = own.lines[0];
    let short = |number: i128| i64::try_from(number).unwrap();
    let code = own.codes.first().map(|_| Code {
        cover: Cover::Lines(vec![true]),
        worth: Worth::Share(Given::Supplied(SaleInput::Discount)),
        most: None,
        min_spend: None,
        credit: false,
        group: "",
    });
    let sale = Sale {
        lines: 1,
        digits: 2,
        codes: code.into_iter().collect(),
        carriage: if by_mass {
            Carriage::ByMass(
                Given::Supplied(SaleInput::Carriage),
                Given::Supplied(SaleInput::CarriageGrams),
            )
        } else {
            Carriage::Amount(Given::Supplied(SaleInput::Carriage))
        },
        free_over: own.free_over.map(|_| Given::Supplied(SaleInput::FreeOver)),
        freight_anyway: false,
        insurance: own.insurance.map(|(share, _)| {
            if share {
                Worth::Share(Given::Supplied(SaleInput::PremiumShare))
            } else {
                Worth::Amount(Given::Supplied(SaleInput::Premium))
            }
        }),
        held: match &own.held {
            Some((percents, false)) => Held::Own(percent(percents[0])),
            _ => Held::Nothing,
        },
    };
    let line = LineAmounts {
        pieces: i64::from(pieces),
        tenths: short(mass * 10),
        mass_known: true,
        sale: SaleAmounts {
            price: short(price),
            discount: own.codes.first().map_or(0, |code| short(code.figure)),
            carriage: short(own.freight),
            carriage_grams: 12_500,
            free_over: own.free_over.map_or(0, short),
            premium: own.insurance.map_or(0, |(_, figure)| short(figure)),
            ..SaleAmounts::default()
        },
        ..LineAmounts::default()
    };
    (sale, line)
}

#[test]
fn whole_numbers_ask_and_pay_what_decimals_do() {
    let (mut scratch, mut compared, mut free) = (Scratch::default(), 0, 0);
    for round in 0..made::share(40_000, 6_000) {
        let mut dice = Dice(made::seed() ^ (round << 18) ^ 0xfa5);
        let mut own = own(&mut dice, 1, 0);
        if dice.one_in(2) {
            own.codes = vec![OwnCode {
                lines: Some(vec![true]),
                share: true,
                figure: i128::from(dice.below(1_000_001)),
                most: None,
                min_spend: None,
                credit: false,
                group: "",
            }];
        }
        own.held = own.held.filter(|(_, at_sale)| !at_sale);
        let by_mass = dice.one_in(2);
        let (sale, mut line) = supplied(&own, by_mass);
        if by_mass {
            own.freight = half_up(own.freight * own.lines[0].2, 1_250);
        }
        let exact = own.exact();
        let program = AskProgram::build(&sale).expect("a line of its own is whole numbers");
        let travels_free = program
            .apply(&mut line, &mut scratch)
            .expect("its figures fit");
        let [asked] = exact.lines.as_slice() else {
            panic!("one line")
        };
        let whole = [line.list, -line.sale.off, line.freight, line.insurance];
        let decimals = [asked.list, asked.off, asked.freight, asked.insurance];
        assert_eq!(
            whole.map(|one| SellerMoney::of(Dec::new(one, 2))),
            decimals,
            "round {round}: {own:?}"
        );
        assert_eq!(
            (line.goods, travels_free),
            (line.list + line.sale.off, exact.free)
        );
        let (rate, card) = (rate(&mut dice), i128::from(dice.below(3) * 14_950));
        line.sale.sale_tax = i64::try_from(figure(&mut dice)).unwrap();
        let tax = [SellerMoney::of(Dec::new(line.sale.sale_tax, 2))];
        let payer = payer(card, false);
        let found = pay((&exact.lines, exact.typed), &tax, dec_rate(rate), payer).unwrap();
        let program = PayProgram::build(payer).expect("a payment is whole numbers");
        let rate = WholeRate::new(dec_rate(rate)).unwrap();
        let (shares, fee) = program
            .apply(&line, rate, &mut scratch)
            .expect("its figures fit");
        let paid = found.lines[0];
        let decimals = [
            paid.goods,
            paid.discount.negated(),
            paid.freight,
            paid.insurance,
            paid.tax_at_sale,
        ];
        assert_eq!(
            shares.map(|one| HomeMoney::of(Dec::new(one, 2))),
            decimals,
            "round {round}: {own:?}"
        );
        assert_eq!(HomeMoney::of(Dec::new(fee, 2)), found.card_fee);
        compared += 1;
        free += usize::from(travels_free);
    }
    assert!(
        compared > 1_000 && free > 100,
        "{compared} compared, {free} travelled free"
    );
}
