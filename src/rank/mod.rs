//! Where the next pound buys the most grams: options by what they really add to the bill.
