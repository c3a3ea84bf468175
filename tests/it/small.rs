//! A small world for worked sums: one destination with round rates, a dozen places, two sellers abroad.
//!
//! Duty is 10 % of goods and freight, VAT 20 % of goods, freight and duty, the carrier's fee 12.00; a parcel whose goods come
//! to no more than 100.00 is charged nothing. Everything is paid in pounds, so that no rate of exchange stands in the sums.

use landwaiter::landed::Question;
use landwaiter::tables::{File, Tables};
use landwaiter::text::{Problems, draw};
use landwaiter::units::{Date, Dec, HomeMoney, number};

pub(crate) use crate::made::taken as book;

const TABLES: [(&str, &str); 7] = [
    (
        "destinations.csv",
        "country,currency,customs_exchange,valid_from\nGB,GBP,market,2021-01-01\n",
    ),
    (
        "gb/charges.csv",
        "charge,kind,order,level,of,percent,flat,per,currency,round,when,valid_from\n\
         customs_value,value,20,line,goods + freight,,,,,,,2021-01-01\n\
         duty_all,duty,30,line,customs_value,10,,,,,,2021-01-01\n\
         vat,tax,40,consignment,customs_value + duty,20,,,,,collect = at-border,2021-01-01\n\
         fee_carrier,fee,50,consignment,,,12.00,consignment,GBP,,duty + tax > 0,2021-01-01\n",
    ),
    (
        "gb/reliefs.csv",
        "relief,order,tests,per,op,amount,currency,drops,collect,valid_from\n\
         low_value,25,goods,consignment,<=,100.00,GBP,duty tax,none,2021-01-01\n",
    ),
    (
        "gb/assemblies.csv",
        "id,needs,any,of,commodity,text,valid_from\nbicycle,frame + fork,1,wheels,8712003090,bicycle,2021-01-01\n",
    ),
    (
        "places.csv",
        "place,kind,pieces,need,when,instead_of,hs6,low_g,high_g,showroom,racing,ride,often_forgotten,valid_from\n\
         frame,*,1,required,,,871491,900,1400,1,1,1,low,2021-01-01\n\
         headset,*,1,required,,,871499,45,130,1,1,1,high,2021-01-01\n\
         handlebar,*,1,required,,,871499,190,320,1,1,1,low,2021-01-01\n\
         stem,*,1,required,,,871499,95,170,1,1,1,low,2021-01-01\n\
         saddle,*,1,required,,,871495,120,290,1,1,1,low,2021-01-01\n\
         seatpost,*,1,usual,,,871499,150,270,1,1,1,low,2021-01-01\n\
         dropper-post,*,1,optional,,seatpost,871499,430,820,1,1,1,low,2021-01-01\n\
         shim,*,1,optional,,,871499,1,6,1,1,1,high,2021-01-01\n\
         tyre,*,2,usual,,,401150,440,700,1,1,1,low,2021-01-01\n\
         battery,*,1,required,gears = electronic,,850760,20,110,1,1,1,low,2021-01-01\n\
         pedals,*,1,required,,,871496,220,380,0,1,1,high,2021-01-01\n\
         bottle-cages,*,2,optional,,,871499,36,120,0,1,1,high,2021-01-01\n\
         tool,*,*,optional,,,,,,0,0,0,high,2021-01-01\n",
    ),
    (
        "basis.csv",
        "adjustment,kind,from_basis,to_basis,place,low_g,likely_g,high_g,text,valid_from\n\
         pedals,*,showroom,racing,pedals,220,300,380,the pedals,2021-01-01\n\
         cages,*,showroom,racing,bottle-cages,30,60,90,two cages,2021-01-01\n\
         carried,*,racing,ride,,400,800,1200,what the rider carries,2021-01-01\n\
         racing-minimum,*,,racing,,6800,6800,6800,the least that may be raced,2021-01-01\n",
    ),
    (
        "fits.csv",
        "key,unknown,joint,between,text,valid_from\n\
         headset_cups,block,headset - frame,headset + frame,The bearings must be of the frame's sizes.,2021-01-01\n",
    ),
];

/// Sellers, both in Taiwan and paid in pounds: one asks 20.00 a parcel, the other 10.00.
pub(crate) const SELLERS: &str = "seller,dispatch,currency,freight,channel,transit_days\n\
                           Northmoor,TW,GBP,20.00,post,0\n\
                           Southmoor,TW,GBP,10.00,post,0\n";

/// How far masses usually move: claims from 3 % under to 8 % over and likely 2 % over, guesses 15 % either way.
pub(crate) const SPREADS: (&str, &str) = (
    "spreads.csv",
    "what,low,likely,high,valid_from\n\
     mass:claimed,-3 %,2 %,8 %,2021-01-01\n\
     mass:guess,-15 %,0 %,15 %,2021-01-01\n\
     mass:weighed,-0.5 %,0 %,0.5 %,2021-01-01\n",
);

/// A joint of which each side may have two pieces.
pub(crate) const PAIRS: (&str, &str) = (
    "fits.csv",
    "key,unknown,joint,between,text,valid_from\n\
     rotor_size,warn,caliper - rotor,tyre + bottle-cages,The rotor must have the caliper's size.,2021-01-01\n",
);

/// In hand for 500.00 in all: 1000 + 80 + 250 + 300 + 120 = 1750 g; the saddle, 250 g, is on its way for 60.00 + 10.00.
pub(crate) const ROWS: &str = "part,place,role,standing,seller,price,currency,quantity,parcel,paid,mass_g\n\
    Plain frame,frame,build,in-hand,,,,1,,460.00,1000\n\
    Plain headset,headset,build,in-hand,,,,1,,10.00,80\n\
    Plain bar,handlebar,build,in-hand,,,,1,,10.00,250\n\
    Plain pedals,pedals,build,in-hand,,,,1,,10.00,300\n\
    Plain stem,stem,build,in-hand,,,,1,,10.00,120\n\
    Plain saddle,saddle,build,on-order,Southmoor,60.00,,1,,70.00,250\n\
    Light stem,stem,option,to-order,Southmoor,50.00,,1,,,70\n";

/// The tables of the small world.
pub(crate) fn tables() -> Tables {
    tables_with(&[])
}

/// The same with others in place of those of their names, or beside them.
pub(crate) fn tables_with(more: &[(&str, &str)]) -> Tables {
    let file = |(name, text): &(&str, &str)| File {
        path: format!("rates/{name}"),
        name: (*name).to_owned(),
        bytes: text.as_bytes().to_vec().into(),
        users: false,
    };
    let own = TABLES
        .iter()
        .filter(|(name, _)| !more.iter().any(|(other, _)| other == name));
    let mut problems = Problems::new();
    let tables = Tables::of(own.chain(more).map(file).collect(), &mut problems);
    assert!(problems.is_empty(), "{}", draw(&problems, false));
    tables
}

/// The question, with these settings beside the destination and the day.
pub(crate) fn ask(settings: &[(&str, &str)]) -> Question {
    let mut own = landwaiter::book::Settings::default();
    own.set("destination", "GB").unwrap();
    settings
        .iter()
        .for_each(|(name, value)| own.set(name, value).unwrap());
    Question::new(&own, Date::new(2026, 3, 2).unwrap()).unwrap()
}

/// An amount of the destination's money.
pub(crate) fn home(text: &str) -> HomeMoney {
    HomeMoney::of(dec(text))
}

/// A figure.
pub(crate) fn dec(text: &str) -> Dec {
    number::plain(text).unwrap()
}
