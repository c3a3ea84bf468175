//! Making a bill: a consignment priced, assessed and paid, put together, and run again for each doubt about it.

use super::bill::{Bill, BillLine, EndedCharge, Headroom};
use super::border::{BorderAssessment, Scenario, assess_at_door};
use super::caution::{Cautions, Saying};
use super::disputed;
use super::jurisdiction::Jurisdiction;
use super::parcel::Consignment;
use super::payment::{Payment, payment};
use super::price::{Priced, Reading, price};
use super::sums::ChargeBreakdown;
use super::together;
use super::trail::{self};
use crate::book::{Book, Included, Remedies};
use crate::rules::{Limit, PaidLine, RowFilter};
use crate::tables::{Collect, Kind as ChargeKind};
use crate::text::Diagnostic;
use crate::units::{HomeMoney, Overflow, Rounding, SellerMoney};

/// At most this many other origins are looked at.
const OTHER_ORIGINS: usize = 3;

/// A bill, and what it was made of.
pub(super) struct Made<'a> {
    /// The bill.
    pub(crate) bill: Bill,
    /// What the seller asks.
    pub(crate) priced: Priced<'a>,
    /// What is due at the door; none where no border is crossed.
    pub(crate) door: Option<BorderAssessment>,
    /// Whether the prices were read net of the destination's tax.
    pub(crate) net: bool,
}

/// Calculates a consignment as its rows say, with the doubts beside it.
pub(crate) fn bill(
    book: &Book,
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Bill, Diagnostic> {
    Ok(made(book, consignment, jurisdiction)?.bill)
}

/// The same with what it was made of.
pub(super) fn made<'a>(
    book: &'a Book,
    consignment: &Consignment<'a>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Made<'a>, Diagnostic> {
    if jurisdiction.is_home(consignment.dispatch.code()) {
        let priced = price(book, consignment, jurisdiction, Reading::Typed)?;
        return Ok(Made {
            bill: home_bill(consignment, &priced, jurisdiction, true)?,
            priced,
            door: None,
            net: false,
        });
    }
    let variant = Scenario::usual(jurisdiction);
    let (priced, door, net) = priced_and_assessed(book, consignment, jurisdiction, &variant)?;
    let payment = paid(consignment, &priced, &door, jurisdiction)?;
    let mut bill = assemble(consignment, jurisdiction, (&priced, &door, &payment), true)?;
    let mut cautions = Cautions::default();
    super::doubt::about_consignment(
        consignment,
        &priced,
        &door,
        jurisdiction,
        (net, &bill.amounts),
        &mut cautions,
    )?;
    for open in door.open_digits.iter().filter(|_| !consignment.pays_duty()) {
        if let Some(line) = bill.lines.get_mut(open.at) {
            line.hangs = Some(HomeMoney::of(open.hangs));
        }
    }
    let again = Again {
        book,
        consignment,
        jurisdiction,
        usual: &variant,
        door: &door,
        landed: bill.amounts.landed()?,
    };
    again.doubts(&mut bill, &mut cautions)?;
    bill.cautions = cautions.into_list();
    Ok(Made {
        bill,
        priced,
        door: Some(door),
        net,
    })
}

/// What is wanted of a bill that is calculated many times.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    /// Whether anti-dumping counts.
    pub(crate) remedies: bool,
    /// Whether it must say how its amounts came about.
    pub(crate) trail: bool,
}

/// The same without the doubts beside it, for the many runs of an estimate.
pub(super) fn plain_bill(
    book: &Book,
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
    wanted: Wanted,
) -> Result<Bill, Diagnostic> {
    let Wanted { remedies, trail } = wanted;
    if jurisdiction.is_home(consignment.dispatch.code()) {
        return home_bill(
            consignment,
            &price(book, consignment, jurisdiction, Reading::Typed)?,
            jurisdiction,
            trail,
        );
    }
    let variant = Scenario {
        counting: RowFilter {
            disputed: !jurisdiction.what_if.undisputed,
            remedies,
        },
        ..Scenario::usual(jurisdiction)
    };
    let (priced, door, _) = priced_and_assessed(book, consignment, jurisdiction, &variant)?;
    let payment = paid(consignment, &priced, &door, jurisdiction)?;
    let mut bill = assemble(consignment, jurisdiction, (&priced, &door, &payment), trail)?;
    if trail {
        bill.disputed = disputed::counted(&door);
    }
    Ok(bill)
}

/// The landed sum of a variant, with what was found at the door.
fn landed_and_found(
    book: &Book,
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
    variant: &Scenario,
) -> Result<(HomeMoney, BorderAssessment), Diagnostic> {
    let (priced, door, _) = priced_and_assessed(book, consignment, jurisdiction, variant)?;
    let payment = paid(consignment, &priced, &door, jurisdiction)?;
    let mut landed = HomeMoney::ZERO;
    for (at, paid) in payment.paid.lines.iter().enumerate() {
        landed = landed.plus(asked(paid).to_seller()?)?;
        if !consignment.pays_duty() {
            landed = landed.plus(at_door(&door, at)?.at_door()?)?;
        }
    }
    Ok((landed, door))
}

/// What the seller is paid for a line.
fn asked(paid: &PaidLine) -> ChargeBreakdown {
    ChargeBreakdown {
        goods: paid.goods,
        discount: paid.discount,
        freight: paid.freight,
        insurance: paid.insurance,
        tax_at_sale: paid.tax_at_sale,
        card_fee: paid.card_fee,
        ..ChargeBreakdown::default()
    }
}

/// Prices a consignment and puts it before the rules. Prices that hold the destination's tax are read net of it where
/// the net price is taxed at the sale; otherwise they stand as typed.
fn priced_and_assessed<'a>(
    book: &'a Book,
    consignment: &Consignment<'a>,
    jurisdiction: &Jurisdiction<'_>,
    variant: &Scenario,
) -> Result<(Priced<'a>, BorderAssessment, bool), Diagnostic> {
    if consignment.tax_to_take_out(jurisdiction) == Included::SaleTax {
        let typed = price(book, consignment, jurisdiction, Reading::Typed)?;
        let probe = assess_at_door(consignment, &typed, jurisdiction, variant)?;
        let rates = probe.prepared.program.sale_tax_rates(&probe.parcel)?;
        let net = price(book, consignment, jurisdiction, Reading::Net(&rates))?;
        let door = assess_at_door(consignment, &net, jurisdiction, variant)?;
        if door
            .assessment
            .collect
            .iter()
            .all(|c| *c == Collect::AtSale)
        {
            return Ok((net, door, true));
        }
        return Ok((typed, probe, false));
    }
    let priced = price(book, consignment, jurisdiction, Reading::Typed)?;
    let door = assess_at_door(consignment, &priced, jurisdiction, variant)?;
    Ok((priced, door, false))
}

/// Pays for a consignment that crosses a border.
fn paid(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    door: &BorderAssessment,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Payment, Diagnostic> {
    let of_line = |at| door.assessment.sale_tax_of_line(at);
    let sale_tax: Vec<_> = (0..priced.lines.len())
        .map(of_line)
        .collect::<Result<_, _>>()?;
    payment(consignment, priced, &sale_tax, jurisdiction)
}

/// Puts lines together from the payment and the findings at the door.
fn assemble(
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
    (priced, door, payment): (&Priced<'_>, &BorderAssessment, &Payment),
    trail: bool,
) -> Result<Bill, Diagnostic> {
    let ddp = consignment.pays_duty();
    let (mut lines, mut in_price) = (Vec::new(), ChargeBreakdown::default());
    for (at, (row, paid)) in consignment.rows.iter().zip(&payment.paid.lines).enumerate() {
        let due = at_door(door, at)?;
        let mut amounts = asked(paid);
        if ddp {
            in_price = in_price.plus(&due)?;
        } else {
            amounts = amounts.plus(&due)?;
        }
        let (Some(facts), Some(asked)) = (door.parcel.lines.get(at), priced.lines.get(at)) else {
            return Err(Diagnostic::defect(
                "a row of a parcel has no line at the border",
            ));
        };
        let known = (facts.commodity.clone(), facts.origin.clone());
        lines.push(BillLine::of(row, amounts, asked, known)?);
    }
    let unrated = door.assessment.gaps.iter();
    let unrated = unrated.filter_map(|at| consignment.rows.get(*at));
    // Where no row makes a customs value there is none.
    let customs_value = door.assessment.amount("customs_value");
    let goods = SellerMoney::total(door.parcel.lines.iter().map(|l| l.goods))?;
    let digits = jurisdiction.currency().digits();
    let goods = door.parcel.customs.to_home(goods)?;
    Ok(Bill {
        in_price,
        intrinsic_value: goods.rounded(Rounding::minor(digits))?,
        customs_value: customs_value.map_or(HomeMoney::ZERO, HomeMoney::of),
        tax_collected: collected(door, ddp),
        limits: headroom(&door.assessment.limits)?,
        trail: if trail {
            trail::of_consignment(consignment, priced, payment, door, jurisdiction)?
        } else {
            Vec::new()
        },
        gaps: unrated.map(|row| row.name.clone()).collect(),
        ended: ended(consignment, door),
        ..plain(consignment, priced, payment, lines)?
    })
}

/// A bill of these lines, before anything is said of a border.
fn plain(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    payment: &Payment,
    lines: Vec<BillLine>,
) -> Result<Bill, Overflow> {
    let amounts = ChargeBreakdown::total(lines.iter().map(|l| &l.amounts))?;
    Ok(Bill {
        id: consignment.id.clone(),
        seller: consignment
            .seller
            .map(|s| s.name.clone())
            .unwrap_or_default(),
        kind: consignment.kind,
        dispatch: consignment.dispatch,
        channel: consignment.channel,
        ordered: consignment.ordered,
        arrival: consignment.arrival,
        mass: priced.packed,
        paid_in: priced.currency,
        seller_sum: payment.paid.sum,
        landed_undisputed: amounts.landed()?,
        landed_with_disputed: amounts.landed()?,
        amounts,
        in_price: ChargeBreakdown::default(),
        known: ChargeBreakdown::default(),
        seller_told: false,
        deposit: None,
        questions: Vec::new(),
        tags: payment.paid.tags,
        intrinsic_value: HomeMoney::ZERO,
        customs_value: HomeMoney::ZERO,
        tax_collected: "none",
        disputed: Vec::new(),
        limits: Vec::new(),
        trail: Vec::new(),
        lines,
        gaps: Vec::new(),
        ended: Vec::new(),
        otherwise: None,
        cautions: Vec::new(),
    })
}

/// One line's charges at the door.
fn at_door(door: &BorderAssessment, at: usize) -> Result<ChargeBreakdown, Overflow> {
    let of = |kind| door.assessment.of_line(kind, at).map(HomeMoney::of);
    Ok(ChargeBreakdown {
        duty: of(ChargeKind::Duty)?,
        remedy: of(ChargeKind::Remedy)?,
        tax_at_border: of(ChargeKind::Tax)?,
        handling: of(ChargeKind::Fee)?,
        ..ChargeBreakdown::default()
    })
}

fn collected(door: &BorderAssessment, ddp: bool) -> &'static str {
    let mut marks: Vec<Collect> = door.assessment.collect.clone();
    marks.sort();
    marks.dedup();
    match marks.as_slice() {
        _ if ddp => "in-price",
        [Collect::AtSale] => "at-sale",
        [Collect::AtBorder] => "at-border",
        [Collect::Nowhere] | [] => "none",
        _ => "mixed",
    }
}

/// What ended, with the parts it would have touched.
fn ended(consignment: &Consignment<'_>, door: &BorderAssessment) -> Vec<EndedCharge> {
    let parts = |lines: &[usize]| {
        lines
            .iter()
            .filter_map(|at| consignment.rows.get(*at))
            .map(|row| row.name.clone())
            .collect()
    };
    let charge = |one: &crate::rules::Ended| EndedCharge {
        id: one.id.clone(),
        kind: one.kind.name(),
        on: one.on,
        row: one.row.clone(),
        parts: parts(&one.lines),
    };
    door.assessment.ended.iter().map(charge).collect()
}

/// Limits tested on one sum and of one amount are one limit to the reader.
fn headroom(limits: &[Limit]) -> Result<Vec<Headroom>, Overflow> {
    let mut found: Vec<Headroom> = Vec::new();
    for limit in limits {
        let (amount, value) = (HomeMoney::of(limit.amount), HomeMoney::of(limit.value));
        let known = found
            .iter_mut()
            .find(|h| h.amount == amount && h.value == value);
        match known {
            Some(known) => known.holds = known.holds || limit.holds,
            None => found.push(Headroom {
                id: limit.id.clone(),
                amount,
                text: limit.text.clone(),
                value,
                of_price: limit.of_price,
                left: amount.minus(value)?,
                holds: limit.holds,
            }),
        }
    }
    Ok(found)
}

/// A consignment that is calculated again, each time with one thing taken to be otherwise.
struct Again<'a> {
    book: &'a Book,
    consignment: &'a Consignment<'a>,
    jurisdiction: &'a Jurisdiction<'a>,
    /// How it is usually looked at.
    usual: &'a Scenario,
    /// What was found at the door so.
    door: &'a BorderAssessment,
    /// Its landed sum.
    landed: HomeMoney,
}

impl Again<'_> {
    /// The whole sum run again where a row's practice differs, where parts could be another thing, where an origin was
    /// assumed, where a preference could be claimed.
    fn doubts(&self, bill: &mut Bill, cautions: &mut Cautions) -> Result<(), Diagnostic> {
        self.without_disputed(bill, cautions)?;
        self.with_remedies(bill)?;
        self.as_single_parts(bill, cautions)?;
        self.under_other_headings(cautions)?;
        self.with_tax_taken(cautions)?;
        self.of_other_origins(cautions)?;
        self.of_no_assumed_origin(cautions)?;
        self.of_facts_not_told(cautions)?;
        self.with_preference(cautions)
    }

    /// The landed sum of a variant.
    fn landed_of(&self, variant: &Scenario) -> Result<HomeMoney, Diagnostic> {
        Ok(self.landed_and_found(variant)?.0)
    }

    /// The same, with what was found at the door.
    fn landed_and_found(
        &self,
        variant: &Scenario,
    ) -> Result<(HomeMoney, BorderAssessment), Diagnostic> {
        landed_and_found(self.book, self.consignment, self.jurisdiction, variant)
    }

    /// Without the rows in dispute that acted.
    fn without_disputed(&self, bill: &mut Bill, cautions: &mut Cautions) -> Result<(), Diagnostic> {
        bill.disputed = disputed::counted(self.door);
        let freed = disputed::freed(self.door);
        if bill.disputed.is_empty() && freed.is_empty() {
            return Ok(());
        }
        let without = Scenario {
            counting: RowFilter {
                disputed: false,
                ..self.usual.counting
            },
            ..self.usual.clone()
        };
        let (landed, without) = self.landed_and_found(&without)?;
        disputed::keep_what_frees(&mut bill.disputed, self.door, &without);
        // a rate of nothing is in dispute only where more is due without it
        if landed > self.landed {
            bill.disputed.extend(freed);
        }
        bill.landed_undisputed = landed;
        disputed::say_unrated(self.consignment, self.door, &without, cautions);
        Ok(())
    }

    /// With anti-dumping, where it is only shown.
    fn with_remedies(&self, bill: &mut Bill) -> Result<(), Diagnostic> {
        if self.jurisdiction.ask.remedies != Remedies::Show {
            return Ok(());
        }
        let with = Scenario {
            counting: RowFilter::ALL,
            ..self.usual.clone()
        };
        let (landed, with) = self.landed_and_found(&with)?;
        bill.landed_with_disputed = landed;
        bill.disputed.extend(disputed::only_shown(&with));
        Ok(())
    }

    /// As single parts, where the parts together count as another thing.
    fn as_single_parts(&self, bill: &mut Bill, cautions: &mut Cautions) -> Result<(), Diagnostic> {
        if self.door.together.is_none() {
            return Ok(());
        }
        let apart = Scenario {
            assembled: false,
            ..self.usual.clone()
        };
        let landed = self.landed_of(&apart)?;
        let differs = landed != self.landed;
        bill.otherwise = differs.then(|| ("as single parts".to_owned(), landed));
        together::say(self.consignment, self.door, differs, cautions);
        Ok(())
    }

    /// Things sold as one, under the other headings of their places.
    fn under_other_headings(&self, cautions: &mut Cautions) -> Result<(), Diagnostic> {
        let duty_is_due = !self.consignment.pays_duty();
        for set in self.door.sets.iter().filter(|_| duty_is_due) {
            let mut beside = Vec::with_capacity(set.others.len());
            for digits in &set.others {
                let other = Scenario {
                    heading: Some((set.at, digits.clone())),
                    ..self.usual.clone()
                };
                let difference = self.landed_of(&other)?.minus(self.landed)?;
                beside.push((digits.as_str(), difference));
            }
            super::doubt::say_set(
                self.consignment,
                self.door,
                set,
                &beside,
                self.jurisdiction,
                cautions,
            );
        }
        Ok(())
    }

    /// With a seller who takes the tax with the order, where the book does not say so and the law asks.
    fn with_tax_taken(&self, cautions: &mut Cautions) -> Result<(), Diagnostic> {
        let (consignment, jurisdiction) = (self.consignment, self.jurisdiction);
        if !super::doubt::hangs_on_the_taker(consignment, jurisdiction) {
            return Ok(());
        }
        let taken = Scenario {
            collects_tax: true,
            ..self.usual.clone()
        };
        let difference = self.landed_of(&taken)?.minus(self.landed)?;
        super::doubt::say_taker(consignment, difference, cautions);
        Ok(())
    }

    /// From other origins, where the rows of law differ by them.
    fn of_other_origins(&self, cautions: &mut Cautions) -> Result<(), Diagnostic> {
        let differing = super::doubt::other_origins(self.consignment, self.door);
        for origin in differing.iter().take(OTHER_ORIGINS) {
            let other = Scenario {
                origin: Some(origin.clone()),
                ..self.usual.clone()
            };
            let difference = self.landed_of(&other)?.minus(self.landed)?;
            super::doubt::say_origin(self.consignment, origin, difference, cautions);
        }
        Ok(())
    }

    /// From elsewhere, where anti-dumping hangs on an origin that was assumed.
    fn of_no_assumed_origin(&self, cautions: &mut Cautions) -> Result<(), Diagnostic> {
        let bearing = super::doubt::assumed_and_dumped(self.consignment, self.door)?;
        if bearing.is_empty() {
            return Ok(());
        }
        let elsewhere = Scenario {
            origin: Some(String::new()),
            ..self.usual.clone()
        };
        let saved = self.landed.minus(self.landed_of(&elsewhere)?)?;
        super::doubt::say_assumed(self.consignment, &bearing, saved, cautions);
        Ok(())
    }

    /// With a fact that nobody has told, where a remedy hangs on it and none is counted.
    fn of_facts_not_told(&self, cautions: &mut Cautions) -> Result<(), Diagnostic> {
        for (told, parts) in super::doubt::facts_not_told(self.consignment, self.door)? {
            let other = Scenario {
                told: Some(told.clone()),
                ..self.usual.clone()
            };
            let more = self.landed_of(&other)?.minus(self.landed)?;
            if more.is_positive() {
                super::doubt::say_fact(&told, &parts, more, cautions);
            }
        }
        Ok(())
    }

    /// With a preference that could be claimed.
    fn with_preference(&self, cautions: &mut Cautions) -> Result<(), Diagnostic> {
        let claim = super::doubt::claimable(self.consignment, self.door)?;
        if claim.is_empty() {
            return Ok(());
        }
        let claim = Scenario {
            claim,
            ..self.usual.clone()
        };
        let saved = self.landed.minus(self.landed_of(&claim)?)?;
        if saved.is_positive() {
            let saying = Saying::new("The total can be lower: duty is lower with proof of origin")
                .so("Ask the seller to state it in writing and the carrier to claim it; many take a fee.")
                .costs(saved);
            cautions.say("preference-possible", saying, &[&self.consignment.id]);
        }
        Ok(())
    }
}

/// A parcel that crosses no border: no charges, and its prices include tax.
fn home_bill(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    jurisdiction: &Jurisdiction<'_>,
    trail: bool,
) -> Result<Bill, Diagnostic> {
    let nothing = vec![SellerMoney::ZERO; priced.lines.len()];
    let payment = payment(consignment, priced, &nothing, jurisdiction)?;
    let lines: Vec<BillLine> = consignment
        .rows
        .iter()
        .zip(&payment.paid.lines)
        .zip(&priced.lines)
        .map(|((row, paid), line)| {
            let known = (
                row.commodity.clone(),
                row.origin.map(|o| o.to_string()).unwrap_or_default(),
            );
            BillLine::of(row, asked(paid), line, known)
        })
        .collect::<Result<_, _>>()?;
    let bill = plain(consignment, priced, &payment, lines)?;
    let mut cautions = Cautions::default();
    let to_seller = bill.amounts.to_seller()?;
    super::doubt::about_price(consignment, priced, to_seller, jurisdiction, &mut cautions)?;
    Ok(Bill {
        tax_collected: "in-price",
        trail: if trail {
            trail::of_payment(consignment, priced, &payment, jurisdiction)?
        } else {
            Vec::new()
        },
        cautions: cautions.into_list(),
        ..bill
    })
}
