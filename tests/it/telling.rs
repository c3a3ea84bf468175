//! What is told to others in one go: in the words to read aloud, on the card and on the page, and what of it is left where prices
//! are hidden.

use crate::harness::{Ran, landwaiter};
use crate::made::SMALL_PLACES;

/// A frame that was given, wheels from Taiwan, the rest bought at home in two rows, pedals that the scale had on it, a tool, and
/// two bikes in a shop.
///
/// - Wheels: 300.00 pounds are above the limit of 135. Duty 4 % of 300 is 12.00, V A T 20 % of 312 is 62.40, the postal fee 12.00
///   (typed by the seller): 86.40 of import charges. The rest: 400.00 and 100.00, pedals 40.00, the tool 26.00.
/// - Without import charges 300 + 400 + 100 + 40 + 26 = 866.00, with them 952.40; without the tool 926.40.
/// - Bought again without the tool, and with the frame at 450.00: 926.40 + 450.00 = 1,376.40. Beside 1,500.00 that is 123.60 less,
///   beside 1,200.00 it is 176.40 more.
/// - Weighed with pedals 8,500 g; the bikes are told on the same basis, 9,000 and 8,200 g: 500 g lighter, 300 g heavier.
fn book(args: &str) -> Ran {
    let pairs = [
        "shifters",
        "thru-axles",
        "tyre",
        "calipers",
        "hoses",
        "rotors",
        "rotor-lockrings",
    ];
    let mut rest: Vec<&str> = SMALL_PLACES.to_vec();
    rest.retain(|place| !["frame", "pedals"].contains(place) && !pairs.contains(place));
    rest.push("cassette");
    let parts = format!(
        "part,place,standing,seller,price,currency,quantity,paid,mass_g,commodity,origin\n\
         Old frame,frame,given,,450.00,GBP,1,,1400,,\n\
         Lowtide wheels,wheels,to-order,Taolin,300.00,GBP,1,,1500,87149990,TW\n\
         All the rest,{},to-order,Quillfen,400.00,GBP,1,,4000,,\n\
         All the pairs,{},to-order,Quillfen,50.00,GBP,2,,600,,\n\
         Clew pedals,pedals,in-hand,,40.00,GBP,1,40.00,300,,\n\
         Torque wrench,tool,in-hand,,26.00,GBP,1,26.00,,,\n",
        rest.join(" + "),
        pairs.join(" + ")
    );
    landwaiter(args)
        .file("b/parts.csv", parts)
        .file(
            "b/sellers.csv",
            "seller,dispatch,currency,freight,channel,handling\nTaolin,TW,GBP,0,post,12.00\nQuillfen,GB,GBP,0,,\n",
        )
        .file(
            "b/settings.csv",
            "setting,value\ndestination,GB\ndate,2026-09-23\nkind,road\ngears,electronic\nbrakes,hydraulic\ntyres,tubeless\nbasis,racing\n",
        )
        .file(
            "b/weighings.csv",
            "what,mass_g,basis,date\nbike,8500,racing,2026-09-20\n",
        )
        .file(
            "b/bikes.csv",
            "bike,price,currency,price_kind,mass_g,basis\nStaithe Nine,1500.00,GBP,list,9000,racing\nUllock P,1200.00,GBP,list,8200,racing\n",
        )
        .go()
        .ends(0)
}

const GIVEN: &str = "Given, and not in any sum paid: Old frame";
const WEIGHED: &str =
    "Weighed whole on 20 September 2026, with Clew pedals on it, it is 8,500 grams.";

#[test]
fn all_of_it_is_told_in_one_go() {
    let page = book("report b -o page.html").left("page.html");
    for words in [
        "Without import charges it comes to 866.00 GBP; with them to 952.40 GBP.",
        &format!("{GIVEN}, worth 450.00 GBP."),
        "Tools, supplies and shop work are 26.00 GBP of that: Torque wrench; the bike alone comes to 926.40 GBP.",
        WEIGHED,
        "On the racing basis and at what it would cost to buy again without tools, \
         beside Staithe Nine it costs 123.60 GBP less and is 500 grams lighter; \
         beside Ullock P it costs 176.40 GBP more and is 300 grams heavier.",
    ] {
        assert!(page.contains(words), "{words}\n{}", told(&page));
    }
}

/// The section of the page.
fn told(page: &str) -> &str {
    page.split_once("To tell others").map_or("", |(_, rest)| {
        rest.split_once("</section>").map_or(rest, |(own, _)| own)
    })
}

/// The words are the same, rounded for speech; the card has the figures.
#[test]
fn the_words_and_the_card_say_it_too() {
    let ran = book("report b --pictures p");
    let (words, card) = (ran.left("p/words.txt"), ran.left("p/telling.svg"));
    for said in [
        "Without import charges it comes to about 866 pounds; with them to about 952 pounds.",
        "beside Staithe Nine it costs about 124 pounds less and is 500 grams lighter",
        WEIGHED,
    ] {
        assert!(words.contains(said), "{said}\n{words}");
    }
    for figure in [
        ">866.00 GBP<",
        ">952.40 GBP<",
        ">given: Old frame<",
        ">worth 450.00 GBP<",
        ">26.00 GBP<",
        ">926.40 GBP<",
        ">8,500 g<",
        ">123.60 GBP less and 500 g lighter<",
        ">176.40 GBP more and 300 g heavier<",
    ] {
        assert!(card.contains(figure), "{figure}\n{card}");
    }
}

/// Where prices are hidden no sum is told, neither as it is nor as a difference: not by the words, the card or the page.
#[test]
fn hidden_prices_are_in_none_of_it() {
    let ran = book("report b --pictures p --hide sellers,prices");
    let page = book("report b -o page.html --hide sellers,prices").left("page.html");
    let (words, card) = (ran.left("p/words.txt"), ran.left("p/telling.svg"));
    let told = told(&page);
    // what is written, without where and how large
    let written: String = card
        .split('>')
        .filter_map(|piece| piece.split_once('<'))
        .map(|(text, _)| format!("{text}\n"))
        .collect();
    let spoken = card.split("aria-label=\"").nth(1).unwrap();
    let spoken = spoken.split('"').next().unwrap();
    for text in [words.as_str(), &written, spoken, told] {
        for sum in [
            "866",
            "952",
            "926",
            "450",
            "123.60",
            "124",
            "176",
            "26.00",
            "26 pounds",
            "1,376",
            "GBP less",
            "more and",
            "less and",
            "Taolin",
            "Quillfen",
        ] {
            assert!(!text.contains(sum), "{sum}\n{text}");
        }
    }
    for text in [words.as_str(), told] {
        for said in [
            GIVEN,
            WEIGHED,
            "beside Staithe Nine it is 500 grams lighter",
        ] {
            assert!(text.contains(said), "{said}\n{text}");
        }
    }
    assert!(
        written.contains("\n500 g lighter\n") && spoken.contains("500 g lighter"),
        "{card}"
    );
}
