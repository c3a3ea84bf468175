//! The build against complete bikes, on one basis and on tax-paid terms.
