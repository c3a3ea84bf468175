//! The commonest slips are asked about, hints lead to what was meant, and every command ends as `check` does.

use super::harness::landwaiter;
use super::made;

const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-10-21\nkind,road\n";

const HEADER: &str =
    "part,place,role,standing,seller,price,currency,dispatch,quantity,mass_g,fits\n";

/// Every problem of a book: its message, and its help.
fn read(tables: &[(&str, &str)]) -> Vec<(String, String)> {
    let (_, problems) = made::read(tables);
    problems
        .iter()
        .map(|p| (p.message.clone(), p.help.clone().unwrap_or_default()))
        .collect()
}

/// Every command that calculates a build; a page is written beside it.
const COMMANDS: [&str; 8] = [
    "check b",
    "cost b",
    "compare b",
    "rank b",
    "plan b",
    "leeway b",
    "settle b",
    "report b -o b/page.html",
];

#[test]
fn every_command_ends_as_check_does() {
    let twice = "A saddle,saddle,build,to-order,,40.00,GBP,,1,200,\nB saddle,saddle,build,to-order,,40.00,GBP,,1,200,\n";
    let clash = "Frame,frame,build,to-order,,400.00,GBP,,1,1000,bottom_bracket=a\nCups,bottom-bracket,build,to-order,,40.00,GBP,,1,80,bottom_bracket=b\n";
    let sound = "A saddle,saddle,build,to-order,,40.00,GBP,,1,200,\n";
    for (rows, status, text) in [
        (twice, 1, "`saddle` is filled twice"),
        (clash, 1, "these parts do not fit"),
        (sound, 0, ""),
    ] {
        for command in COMMANDS {
            let run = landwaiter(command)
                .file("b/settings.csv", SETTINGS)
                .file("b/parts.csv", format!("{HEADER}{rows}"));
            let ran = run.go();
            assert_eq!(ran.status, status, "{command}: {}", ran.err);
            assert!(ran.err.contains(text), "{command}: {}", ran.err);
        }
    }
}

#[test]
fn hints_lead_to_what_was_meant() {
    let header = "part,place,seller,price,currency,dispatch";
    let help = |column: &str| {
        let found = read(&[(
            "parts",
            &format!("{header},{column}\nSaddle,saddle,Taolin,10.00,USD,TW,\n"),
        )]);
        assert_eq!(found.len(), 1, "{found:?}");
        found[0].1.clone()
    };
    for (typed, meant) in [
        ("weight", "mass_g"),
        ("Weight (g)", "mass_g"),
        ("shipping_cost", "freight"),
        ("state", "standing"),
        ("seller_type", "sender"),
        ("origin_proof", "preference"),
        ("lab_report", "evidence"),
        ("qty", "quantity"),
    ] {
        assert_eq!(help(typed), format!("did you mean `{meant}`?"), "{typed}");
    }
    // A column that stands in the table already is not proposed for another.
    assert_eq!(
        help("brand"),
        "what it says may stand in `part`, which is there already, or in `note`"
    );
    // In a table without the column that is meant, a word that only looks alike is no hint.
    let found = read(&[
        (
            "parts",
            &format!("{header}\nSaddle,saddle,Taolin,10.00,USD,TW\n"),
        ),
        ("sellers", "seller,weight\nTaolin,3\n"),
    ]);
    assert_eq!(
        found,
        [(
            "column `weight` is not known here and is not read".to_owned(),
            String::new()
        )]
    );
}

#[test]
fn a_currency_by_its_sign_or_its_common_name_gets_its_code() {
    let said = |money: &str| {
        let found = read(&[(
            "parts",
            &format!(
                "part,place,seller,price,currency,dispatch\nSaddle,saddle,Taolin,10.00,{money},TW\n"
            ),
        )]);
        // One wrong cell is one error.
        assert_eq!(found.len(), 1, "{found:?}");
        found[0].0.split("; ").last().unwrap().to_owned()
    };
    for (typed, code) in [
        ("RMB", "CNY"),
        ("US$", "USD"),
        ("C$", "CAD"),
        ("A$", "AUD"),
        ("NT$", "TWD"),
        ("£", "GBP"),
        ("Euro", "EUR"),
        ("AU$", "AUD"),
    ] {
        assert_eq!(said(typed), format!("did you mean `{code}`?"), "{typed}");
    }
    assert_eq!(said("¥"), "did you mean `JPY` or `CNY`?");
}

#[test]
fn a_place_and_a_role_by_their_second_names_get_a_hint() {
    let rows = "Tyre,tires,build,to-order,,40.00,GBP,,2,300,\nMech,rear derailleur,build,to-order,,40.00,GBP,,1,300,\n";
    let ran = landwaiter("cost b")
        .file("b/settings.csv", SETTINGS)
        .file("b/parts.csv", format!("{HEADER}{rows}"))
        .go()
        .ends(1);
    assert!(
        ran.err.contains("did you mean `tyre`?") && ran.err.contains("did you mean `rear-mech`?"),
        "{}",
        ran.err
    );
    for (typed, meant) in [
        ("brake pads", "spare"),
        ("lamp", "front-light"),
        ("gps", "computer"),
        ("carrier", "rack"),
        ("fenders", "mudguard"),
        ("shock", "rear-shock"),
        ("jersey", "clothing"),
        ("bidon", "bottle"),
    ] {
        let parts = format!("{HEADER}It,{typed},build,to-order,,40.00,GBP,,1,300,\n");
        let ran = landwaiter("cost b")
            .file("b/settings.csv", SETTINGS)
            .file("b/parts.csv", parts)
            .go()
            .ends(1);
        assert!(
            ran.err.contains(&format!("did you mean `{meant}`?")),
            "{typed}: {}",
            ran.err
        );
    }
    let found = read(&[(
        "parts",
        "part,place,role\nSaddle,saddle,build\nSaddle,,other offer\n",
    )]);
    assert!(
        found
            .iter()
            .any(|(message, _)| message.ends_with("did you mean `rival`?")),
        "{found:?}"
    );
}

#[test]
fn one_wrong_cell_is_one_error() {
    let header = "part,place,role,standing,seller,price,currency,dispatch,paid,comes_with";
    for (rows, expected) in [
        // A standing that cannot be read says nothing of `paid` and `comes_with`.
        (
            "Wheels,wheels,,on-oder,Taolin,250.00,USD,TW,200,\n",
            "standing",
        ),
        (
            "Wheels,wheels,,,Taolin,250.00,USD,TW,,\nTape,rim-tape,,bundeld,,,,,,Wheels\n",
            "standing",
        ),
        // A role that cannot be read makes no second part of the name.
        (
            "Wheels,wheels,,,Taolin,250.00,USD,TW,,\nWheels,wheels,rivla,,Taolin,250.00,USD,TW,,\n",
            "role",
        ),
        // A row that cannot be read is not missing elsewhere.
        (
            "Wheels,wheels,,,Taolin,2,50.00,USD,TW,,x\nTape,rim-tape,,,,,,,,Wheels\n",
            "the row has 11 fields",
        ),
        // A seller whose country nobody says is asked for once, whatever it sells.
        (
            "Wheels,wheels,,,Taolin,250.00,USD,,,\nTape,rim-tape,,,Taolin,2.00,USD,,,\n",
            "dispatch",
        ),
    ] {
        let found = read(&[("parts", &format!("{header}\n{rows}"))]);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].0.contains(expected), "{found:?}");
    }
}

#[test]
fn a_table_of_parts_alone_says_once_what_is_not_read() {
    let parts = "part,place,seller,price,currency\nFrame,frame,Taolin,90.00,GBP\nSaddle,saddle,Taolin,90.00,GBP\nStem,stem,Weihu,90.00,GBP\n";
    let run =
        landwaiter("cost b/parts.csv --to GB --on 2026-10-21").file("b/settings.csv", SETTINGS);
    let run = run
        .file("b/sellers.csv", "seller,dispatch\nTaolin,TW\nWeihu,CN\n")
        .file("b/parts.csv", parts);
    let ran = run.go().ends(1);
    assert_eq!(
        ran.err
            .matches("not read: settings.csv and sellers.csv")
            .count(),
        1,
        "{}",
        ran.err
    );
    // No table says where the sellers are: one error for all of them.
    assert_eq!(ran.err.matches("error:").count(), 1, "{}", ran.err);
    assert!(ran.err.contains("`Taolin` and `Weihu`"), "{}", ran.err);
}

/// 0.0275 out of a hundred is less than a penny of most parcels: whoever types it means 2.75 %.
#[test]
fn a_share_of_one_is_no_percentage() {
    let fee = |text: &str| {
        read(&[
            ("parts", "part,place\nSaddle,saddle\n"),
            ("settings", &format!("setting,value\ncard_fee,{text}\n")),
        ])
    };
    let asked = "`card_fee` is `0.0275`: is it 2.75 % or 0.0275 %? write `2.75` for the first, `0.0275 %` for the second";
    assert_eq!(
        fee("0.0275")
            .iter()
            .map(|(message, _)| message.as_str())
            .collect::<Vec<_>>(),
        [asked]
    );
    for sound in ["2.75", "2.75 %", "0.5 %", "0.0275 %", "1", "0"] {
        assert!(fee(sound).is_empty(), "{sound}: {:?}", fee(sound));
    }
    let ran = landwaiter("cost b --card-fee 0.0275")
        .file("b/settings.csv", SETTINGS)
        .file("b/parts.csv", "part,place\nSaddle,saddle\n");
    assert!(
        ran.go()
            .ends(1)
            .err
            .contains("`--card-fee 0.0275`: is it 2.75 % or 0.0275 %?")
    );
    // A seller's tax and a discount may be small: they are read, and warned of.
    let parts = (
        "parts",
        "part,place,seller,price,currency,dispatch\nSaddle,saddle,Taolin,40.00,EUR,DE\n",
    );
    let sellers = |text: &str| ("sellers", format!("seller,prices_include\nTaolin,{text}\n"));
    let codes = |text: &str| {
        (
            "discounts",
            format!("code,seller,scope,percent\nTEN,Taolin,basket,{text}\n"),
        )
    };
    for (column, typed, [small, large, plain]) in [
        ("prices_include", sellers("0.19"), ["0.19 %", "19 %", "19"]),
        ("percent", codes("0.1"), ["0.1 %", "10 %", "10"]),
    ] {
        let found = read(&[parts, (typed.0, &typed.1)]);
        let [(message, help)] = found.as_slice() else {
            panic!("{found:?}")
        };
        assert!(
            message.starts_with(&format!("`{column}` is"))
                && message.ends_with(&format!("read as {small}, and not as {large}")),
            "{message}"
        );
        assert_eq!(
            *help,
            format!("write `{plain}` if {large} is meant, or `{small}`")
        );
    }
    for typed in [
        sellers("0.19 %"),
        sellers("19"),
        sellers("0"),
        codes("0.1 %"),
        codes("10"),
    ] {
        assert!(read(&[parts, (typed.0, &typed.1)]).is_empty(), "{typed:?}");
    }
}

/// Second names that people look for are read: the same book, its columns and values called otherwise, comes to the same.
#[test]
fn second_names_are_read_as_the_names_they_stand_for() {
    const SETS: &str = "setting,value\ndestination,GB\ndate,2026-09-23\nkind,gravel\n";
    let parts = |standing: &str,
                 evidence: &str,
                 preference: &str,
                 mech: (&str, &str),
                 rival: &str| {
        format!(
            "part,place,role,{standing},seller,price,currency,dispatch,mass_g,{evidence},{preference},origin\n\
             Rear,{},build,to-order,Kite,90.00,EUR,DE,250,iso 4210,yes,DE\n\
             Front,{},build,in-hand,,,,,90,,,\n\
             Rear,{},{rival},to-order,Lark,80.00,EUR,DE,250,,,DE\n",
            mech.0, mech.1, mech.0
        )
    };
    let sellers = |freight: &str, sender: &str| {
        format!(
            "seller,currency,dispatch,{freight},{sender}\nKite,EUR,DE,12.00,business\nLark,EUR,DE,14.00,private\n"
        )
    };
    let run = |command: &str, parts: &str, sellers: &str| {
        let ran = landwaiter(command)
            .file("b/settings.csv", SETS)
            .file("b/parts.csv", parts)
            .file("b/sellers.csv", sellers)
            .go()
            .ends(0);
        assert!(!ran.err.contains("column"), "{}", ran.err);
        ran.out
    };
    let own = (
        parts(
            "standing",
            "evidence",
            "preference",
            ("rear-mech", "front-mech"),
            "rival",
        ),
        sellers("freight", "sender"),
    );
    let second = (
        parts(
            "status",
            "test_report",
            "proof of origin",
            ("rear-derailleur", "front-derailleur"),
            "other-offer",
        ),
        sellers("shipping", "seller_kind"),
    );
    for command in [
        "cost b --format json",
        "rank b --format json",
        "plan b --format json",
    ] {
        let out = run(command, &own.0, &own.1);
        assert_eq!(out, run(command, &second.0, &second.1), "{command}");
        assert!(out.contains("Rear"), "{out}");
    }
    // Beside the known name the second one is a stranger, as it was.
    let both = own
        .0
        .replacen("standing,", "standing,status,", 1)
        .replace(",to-order,", ",to-order,x,")
        .replace(",in-hand,", ",in-hand,x,");
    let ran = landwaiter("cost b")
        .file("b/settings.csv", SETS)
        .file("b/parts.csv", both)
        .go();
    assert!(ran.err.contains("`status`"), "{}", ran.err);
}
