//! What the rows of a form are called that have no name of their own.

use super::{Live, Node};
use crate::rules::{Id, Input, Measure};
use crate::tables::Op;
use crate::units::Dec;

impl Live<'_, '_> {
    /// What a node is called here, and what there is to say of it.
    pub(super) fn label(&self, at: Id) -> (String, String) {
        if let Some(name) = self.named(at) {
            return (format!("  {}", name.what), name.how.to_owned());
        }
        let how = match &self.told.form.node(at).op {
            Node::Round(_, rounding) => rounding.to_string(),
            _ => String::new(),
        };
        (format!("  {}", self.operation(at)), how)
    }

    /// The operation of a node.
    fn operation(&self, at: Id) -> &'static str {
        let form = &self.told.form;
        match &form.node(at).op {
            Node::Input(Input::Kilograms) => "packed mass, kg",
            Node::Input(Input::Grams) => "mass without packing, g",
            Node::Home(_) => "in the destination's money",
            Node::Plus(..) => "sum",
            Node::Minus(..) => "difference",
            Node::Times(..) | Node::Part(..) => "product",
            Node::Over(..) => "quotient",
            Node::Least(..) => "the lesser",
            Node::Most(..) => "the greater",
            Node::Round(..) => "rounded",
            Node::Compare(_, Op::Unequal, b) if form.node(*b).op == Node::Fixed(Dec::ZERO) => {
                "1 where it is other than zero"
            }
            Node::Compare(..) => "1 where the comparison holds",
            Node::Both(..) => "1 where both hold",
            Node::Either(..) => "1 where either holds",
            Node::Not(_) => "1 where it does not hold",
            Node::Choose(..) => "what holds of the two",
            Node::Total(_) => "all lines together",
            Node::Mates(..) => "all lines of one number together",
            Node::Distinct(_) => "how many different numbers",
            Node::Spread(_) | Node::Settle(_) => "shares",
            Node::Fixed(_) | Node::Figure(_) | Node::Column(_) | Node::Input(_) => "fixed",
        }
    }

    /// The decimals of a node's money; none where it is no money.
    pub(super) fn digits(&self, id: Id) -> Option<u32> {
        match self.told.form.node(id).measure {
            Measure::Plain => None,
            Measure::Seller => Some(self.sources.sellers.digits()),
            Measure::Home => Some(self.sources.common.currency.digits()),
        }
    }
}
