//! Tests of the calculation that look behind its front door.

mod bounds;
mod months;
mod pairs;
