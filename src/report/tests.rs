//! Tests of what views, pages and JSON say.

mod coverage;
mod one_weight;
mod pages;
mod unfinished;
mod unread;
mod verdicts;
