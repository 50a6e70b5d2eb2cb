//! What people read: tables, CSV, charts, the owner's page.
//!
//! Takes results; gives text and bytes. Knows nothing of how anything was computed. Rounding happens here.
