//! Tests of quadrants, places, joints and bases, of the frontier and of what checks ask about.

mod frontier;

mod order;

mod slips;

mod terms;
