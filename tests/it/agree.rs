//! Commands agree: what one of them refuses every one refuses and names the cell, and what `plan` alone refuses `check` refuses too.

use super::harness::{Ran, landwaiter};
use super::kit;

const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-10-21\nkind,road\n";

/// Every command that reads a book; a page is written beside it.
const COMMANDS: [&str; 9] = [
    "check b",
    "cost b",
    "compare b",
    "rank b",
    "plan b",
    "leeway b",
    "settle b",
    "return b --part Saddle --day 2026-10-25",
    "report b -o b/page.html",
];

fn run(command: &str, parts: &str, others: &[(&str, &str)]) -> Ran {
    let run = landwaiter(command)
        .file("b/settings.csv", SETTINGS)
        .file("b/parts.csv", parts);
    others
        .iter()
        .fold(run, |run, (name, text)| {
            run.file(&format!("b/{name}"), text)
        })
        .go()
}

const HEADER: &str = "part,place,role,standing,seller,price,currency,dispatch,mass_g\n";

#[test]
fn a_misspelt_place_is_refused_by_every_command() {
    for role in ["build", "option"] {
        let rows = format!(
            "Saddle,saddle,build,to-order,Taolin,40.00,GBP,TW,200\nBar,handelbar,{role},to-order,Taolin,60.00,GBP,TW,250\n"
        );
        for command in COMMANDS {
            let ran = run(command, &format!("{HEADER}{rows}"), &[]).ends(1);
            assert!(
                ran.err.contains("parts.csv:3") && ran.err.contains("`handelbar`"),
                "{command}: {}",
                ran.err
            );
            assert_eq!(
                ran.err.matches("did you mean `handlebar`?").count(),
                1,
                "{command}: {}",
                ran.err
            );
        }
    }
}

#[test]
fn a_freight_schedule_that_no_table_has_is_refused_by_every_command() {
    let parts = "part,place,role,standing,seller,price,currency,mass_g\n\
                 Saddle,saddle,build,to-order,Taolin,40.00,GBP,200\n\
                 Saddle,saddle,rival,to-order,Weihu,30.00,GBP,200\n";
    let sellers =
        "seller,dispatch,currency,freight\nTaolin,TW,GBP,12.00\nWeihu,TW,GBP,weihu-post\n";
    for command in COMMANDS {
        let ran = run(command, parts, &[("sellers.csv", sellers)]).ends(1);
        assert!(ran.err.contains("sellers.csv:3"), "{command}: {}", ran.err);
        assert_eq!(
            ran.err
                .matches("there is no freight schedule `weihu-post` from TW by courier")
                .count(),
            1,
            "{command}: {}",
            ran.err
        );
    }
    // One that a parcel's own row asks for is named there.
    let parcels = "seller,parcel,freight\nTaolin,late,taolin-pots\n";
    let parts = "part,place,role,standing,seller,price,currency,parcel,mass_g\nSaddle,saddle,build,to-order,Taolin,40.00,GBP,late,200\n";
    let sellers = "seller,dispatch,currency,freight\nTaolin,TW,GBP,12.00\n";
    for command in ["check b", "cost b", "plan b"] {
        let ran = run(
            command,
            parts,
            &[("sellers.csv", sellers), ("parcels.csv", parcels)],
        )
        .ends(1);
        assert!(
            ran.err.contains("parcels.csv:2") && ran.err.contains("`taolin-pots`"),
            "{command}: {}",
            ran.err
        );
        assert_eq!(
            ran.err
                .lines()
                .filter(|line| line.starts_with("error"))
                .count(),
            1,
            "{command}: {}",
            ran.err
        );
    }
}

#[test]
fn what_plan_alone_refuses_is_refused_by_check_too() {
    let rows = |price: &str, money: &str| {
        format!("{HEADER}Saddle,saddle,build,to-order,Taolin,{price},{money},TW,200\n")
    };
    // A hundred million pounds a row are calculated, a million are planned with.
    for price in ["99999999", "1000000.01"] {
        let parts = rows(price, "GBP");
        for command in ["check b", "plan b"] {
            let ran = run(command, &parts, &[]).ends(1);
            assert!(
                ran.err.contains("parts.csv:2")
                    && ran.err.contains(&format!("`price` is `{price}`")),
                "{command}: {}",
                ran.err
            );
            let why = "expected no more than 1,000,000 GBP for the row: `plan` takes no more";
            assert_eq!(ran.err.matches(why).count(), 1, "{command}: {}", ran.err);
        }
        let checked = run("check b", &parts, &[]).ends(1);
        assert!(
            checked
                .err
                .contains("`plan` has no answer until they are corrected"),
            "{}",
            checked.err
        );
        assert!(!run("cost b", &parts, &[]).ends(0).err.contains("`plan`"));
    }
    assert!(
        !run("check b", &rows("1000000", "GBP"), &[])
            .ends(0)
            .err
            .contains("`plan`")
    );
    // On 2026-10-21 a euro is 1.1234 dollars and 0.83825 pounds: a million pounds are 1,340,172.98 dollars.
    let checked = run("check b", &rows("1400000", "USD"), &[]).ends(1);
    assert!(
        checked.err.contains(
            "expected no more than 1,340,172 USD (1,000,000 GBP) for the row: `plan` takes no more"
        ),
        "{}",
        checked.err
    );
    // What no command takes is one error.
    let checked = run("check b", &rows("100000001", "GBP"), &[]).ends(1);
    assert!(
        checked
            .err
            .contains("expected no more than 100,000,000 GBP")
            && !checked.err.contains("`plan`"),
        "{}",
        checked.err
    );
    assert!(
        checked
            .err
            .contains("nothing is calculated until they are corrected"),
        "{}",
        checked.err
    );
}

/// The price of a step, or what it adds by the kilogram, in `b/rates/freight.csv`: the cell is named there.
#[test]
fn a_price_of_the_own_freight_schedule_that_is_too_large_is_refused() {
    let settings = format!("{SETTINGS}rates,rates\n");
    let parts = format!("{HEADER}Saddle,saddle,build,to-order,Taolin,40.00,GBP,TW,200\n");
    let sent = |command: &str, step: &str, freight: &str| {
        let schedule = format!(
            "schedule,up_to_g,price,currency,extra_per_kg,valid_from,source\n{step},2020-01-01,invented\n"
        );
        landwaiter(command)
            .file("b/settings.csv", &settings)
            .file("b/parts.csv", &parts)
            .file(
                "b/sellers.csv",
                format!("seller,dispatch,currency,freight\nTaolin,TW,GBP,{freight}\n"),
            )
            .file("b/rates/freight.csv", schedule)
            .go()
    };
    for (step, column, figure) in [
        ("taolin-post,1000,200000000,GBP,", "price", "200000000"),
        (
            "taolin-post,100,5.00,GBP,300000000",
            "extra_per_kg",
            "300000000",
        ),
    ] {
        for command in ["check b", "cost b", "rank b", "leeway b"] {
            let ran = sent(command, step, "taolin-post").ends(1);
            assert!(
                ran.err.contains("rates/freight.csv:2")
                    && ran.err.contains(&format!("`{column}` is `{figure}`")),
                "{command}: {}",
                ran.err
            );
            assert!(
                ran.err
                    .contains("expected no more than 100,000,000 GBP for the step"),
                "{command}: {}",
                ran.err
            );
        }
        // A schedule that nobody is sent by is no matter.
        sent("check b", step, "12.00").ends(0);
    }
    // What is calculated and not planned with.
    let step = "taolin-post,1000,2000000,GBP,";
    for command in ["check b", "plan b"] {
        let ran = sent(command, step, "taolin-post").ends(1);
        assert!(
            ran.err.contains("rates/freight.csv:2"),
            "{command}: {}",
            ran.err
        );
        assert!(
            ran.err
                .contains("expected no more than 1,000,000 GBP for the step: `plan` takes no more"),
            "{command}: {}",
            ran.err
        );
    }
    sent("cost b", step, "taolin-post").ends(0);
}

/// What a road bike must have but its wheels, and one row of it after the others.
fn places() -> impl Iterator<Item = &'static str> {
    kit::SMALL_PLACES
        .into_iter()
        .chain(["cassette", "rotors", "calipers"])
}

/// A whole bike in hand but for its first places, which are to be ordered at a price each; then other rows.
fn whole(dear: usize, price: &str, more: &str) -> String {
    let rest = places()
        .skip(dear)
        .map(|place| format!("Old {place},{place},build,in-hand,,,,,100\n"));
    let dear = places()
        .take(dear)
        .map(|place| format!("New {place},{place},build,to-order,,{price},GBP,,100\n"));
    format!(
        "{HEADER}{}{}Old wheels,wheels,build,in-hand,,,,,1500\n{more}",
        dear.collect::<String>(),
        rest.collect::<String>()
    )
}

/// Twelve rows of 900,000.00 come to 10,800,000.00, more than the ten million that are planned with.
#[test]
fn a_sum_that_plan_refuses_is_refused_by_check() {
    let why =
        "expected rows that come to no more than 10,000,000 GBP together: `plan` takes no more";
    let parts = whole(12, "900000", "");
    for command in ["check b", "plan b"] {
        let ran = run(command, &parts, &[]).ends(1);
        assert!(
            ran.err.contains("parts.csv:")
                && ran.err.contains("`price` is `900000`")
                && ran.err.contains(why),
            "{command}: {}",
            ran.err
        );
    }
    run("cost b", &parts, &[]).ends(0);
    // Eleven rows come to 9,900,000.00.
    for command in ["check b", "plan b"] {
        run(command, &whole(11, "900000", ""), &[]).ends(0);
    }
    // A sum of packages that only the search comes upon: twelve options of 1.00, each sent for 900,000.00 by another seller.
    let options = places().take(12).map(|place| {
        format!("Light {place},{place},option,to-order,Shop {place},1.00,GBP,TW,50\n")
    });
    let sellers = places()
        .take(12)
        .map(|place| format!("Shop {place},TW,GBP,900000\n"));
    let sellers = format!(
        "seller,dispatch,currency,freight\n{}",
        sellers.collect::<String>()
    );
    let parts = whole(0, "", &options.collect::<String>());
    for command in ["check b", "plan b"] {
        let ran = run(command, &parts, &[("sellers.csv", &sellers)]).ends(1);
        assert!(
            ran.err.contains("parts.csv:")
                && ran.err.contains("`price` is `1.00`")
                && ran.err.contains(why),
            "{command}: {}",
            ran.err
        );
    }
    run("cost b", &parts, &[("sellers.csv", &sellers)]).ends(0);
}

#[test]
fn a_choice_that_changes_nothing_is_said_by_every_command() {
    let parts = format!("{HEADER}Saddle,saddle,build,to-order,Taolin,40.00,GBP,TW,200\n");
    let name = "no rule of the United Kingdom asks for the choice `currier`: it changes nothing";
    let value = "asks whether the choice `courier` is `roed`";
    for (choice, said, near) in [
        ("currier=road", name, "`courier`"),
        ("courier=roed", value, "`road`"),
        ("foo=bar", "the choice `foo`", ""),
    ] {
        for command in COMMANDS {
            let ran = run(&format!("{command} --choice {choice}"), &parts, &[]);
            if command.starts_with("plan") || command.starts_with("report") {
                // One saddle is no plan for a bike, and a page is a file.
                continue;
            }
            let ran = ran.ends(0);
            let where_said = if command.starts_with("check") {
                &ran.err
            } else {
                &ran.out
            };
            assert!(
                where_said.replace("\n  ", " ").contains(said),
                "{command}: {}{}",
                ran.out,
                ran.err
            );
            assert_eq!(
                where_said.contains("did you mean"),
                !near.is_empty(),
                "{command}: {}{}",
                ran.out,
                ran.err
            );
            assert!(
                where_said.contains(near),
                "{command}: {}{}",
                ran.out,
                ran.err
            );
        }
    }
    // A choice of the settings too.
    let settings = format!("{SETTINGS}choice.currier,road\n");
    let ran = landwaiter("check b")
        .file("b/settings.csv", settings)
        .file("b/parts.csv", parts)
        .go()
        .ends(0);
    assert!(
        ran.err.contains(name) && ran.err.contains("did you mean `courier`?"),
        "{}",
        ran.err
    );
    assert!(!ran.out.contains("currier"), "said once: {}", ran.out);
}

#[test]
fn a_choice_that_changes_nothing_is_named_with_its_place() {
    let parts = format!("{HEADER}Saddle,saddle,build,to-order,Taolin,40.00,GBP,TW,200\n");
    for (row, column) in [("choice.courier,roed", 16), ("choice.currier,road", 1)] {
        let settings = format!("{SETTINGS}{row}\n");
        let run = |command: &str| {
            landwaiter(command)
                .file("b/settings.csv", &settings)
                .file("b/parts.csv", &parts)
                .go()
                .ends(0)
        };
        let place = format!("b/settings.csv:5:{column}");
        assert!(
            run("check b").err.contains(&place),
            "{}",
            run("check b").err
        );
        let cost = run("cost b").out.replace("\n  ", " ");
        assert!(cost.contains("(b/settings.csv:5)"), "{cost}");
        // a flag goes before the row, and is named in its place
        let flag = row.trim_start_matches("choice.").replace(',', "=");
        let ran = run(&format!("check b --choice {flag}"));
        assert!(
            ran.err
                .contains(&format!("it was typed as `--choice {flag}`"))
                && !ran.err.contains(&place),
            "{}",
            ran.err
        );
        let cost = run(&format!("cost b --choice {flag}"))
            .out
            .replace("\n  ", " ");
        assert!(cost.contains(&format!("(`--choice {flag}`)")), "{cost}");
    }
}

/// Seventy tools that two sellers offer are seventy choices; 130 sellers of one saddle are as many parcels.
#[test]
fn a_choice_too_wide_is_refused_by_check_and_plan_alike() {
    let tools: String =
        (0..70).map(|at| format!("Tool {at},tool,build,to-order,Taolin,5.00,GBP,TW,\nTool {at},,rival,,Weihu,4.00,GBP,TW,\n")).collect();
    let saddles: String = (0..130)
        .map(|at| format!("Light saddle {at},saddle,option,to-order,Shop {at},50.00,GBP,TW,100\n"))
        .collect();
    for (more, cell, found) in [
        (
            &tools,
            "`place` is `tool`",
            "70 places: expected no more than 64",
        ),
        (
            &saddles,
            "`seller` is `Shop",
            "130 parcels: expected no more than 126",
        ),
    ] {
        let parts = whole(0, "", more);
        let [check, plan] =
            ["check b", "plan b"].map(|command| run(command, &parts, &[]).ends(1).err);
        for err in [&check, &plan] {
            assert!(
                err.contains("parts.csv:") && err.contains(cell) && err.contains(found),
                "{err}"
            );
        }
        let error = |err: &str| {
            err.lines()
                .find(|line| line.starts_with("error:"))
                .map(str::to_owned)
        };
        assert_eq!(error(&check), error(&plan));
        run("cost b", &parts, &[]).ends(0);
    }
    let fewer: String = tools
        .lines()
        .take(2 * 64)
        .map(|line| format!("{line}\n"))
        .collect();
    run("check b", &whole(0, "", &fewer), &[]).ends(0);
}

/// Eleven options of 900,000.00 are 9,900,000.00 on their tags and more with VAT and duty; each of them alone is far below.
#[test]
fn a_package_too_large_is_foreseen() {
    let options = |many: usize| {
        let rows = places().take(many).map(|place| {
            format!("Light {place},{place},option,to-order,Taolin,900000,GBP,TW,50\n")
        });
        whole(0, "", &rows.collect::<String>())
    };
    for command in ["check b", "plan b --limit 1"] {
        let ran = run(command, &options(11), &[]).ends(1);
        let why =
            "expected rows that come to no more than 10,000,000 GBP together: `plan` takes no more";
        assert!(
            ran.err.contains("parts.csv:") && ran.err.contains(why),
            "{command}: {}",
            ran.err
        );
    }
    run("check b", &options(7), &[]).ends(0);
    run("plan b --limit 1", &options(7), &[]).ends(0);
}

/// Two parts of 1500 g each that a schedule carries one by one and not together: `plan` takes one of them, and says why not both.
#[test]
fn offers_that_cannot_travel_together_are_no_refusal() {
    let bought = "New frame,frame,build,to-order,Weihu,500.00,GBP,TW,1000\nNew fork,fork,build,to-order,Weihu,500.00,GBP,TW,400\n";
    let light = "Cheap frame,frame,option,to-order,Taolin,100.00,GBP,TW,1500\nCheap fork,fork,option,to-order,Taolin,100.00,GBP,TW,1500\n";
    let rest: String = whole(0, "", "")
        .lines()
        .filter(|line| !line.contains(",frame,") && !line.contains(",fork,"))
        .map(|line| format!("{line}\n"))
        .collect();
    let parts = format!("{rest}{bought}{light}");
    let schedule = "schedule,dispatch,destination,channel,up_to_g,price,currency,valid_from,certainty,evidence,source,checked\n\
                    own-post,TW,GB,*,2000,20.00,GBP,2026-01-01,certain,inferred,invented,2026-01-20\n";
    let sellers = "seller,dispatch,currency,freight\nWeihu,TW,GBP,12.00\nTaolin,TW,GBP,own-post\n";
    let others = [("sellers.csv", sellers), ("rates/freight.csv", schedule)];
    let settings = format!("{SETTINGS}rates,rates\n");
    for command in ["check b", "cost b", "plan b"] {
        let run = landwaiter(command)
            .file("b/settings.csv", &settings)
            .file("b/parts.csv", &parts);
        let ran = others
            .iter()
            .fold(run, |run, (name, text)| {
                run.file(&format!("b/{name}"), text)
            })
            .go()
            .ends(0);
        let told = ran.out.replace("\n  ", " ");
        assert_eq!(
            told.contains("cannot be ordered together"),
            command == "plan b",
            "{command}: {told}{}",
            ran.err
        );
    }
}
