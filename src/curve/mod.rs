//! The establishment curve: c(u) = A / (1 + exp(−k (u − m))).
//!
//! Takes points; gives a fit with standard errors, or says why there is none. Knows nothing of greens, the
//! calendar or files.
