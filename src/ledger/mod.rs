//! `ledger.gpkg`: every result, in one SQLite file of OGC GeoPackage form.
//!
//! Takes and gives values; knows nothing of images or curves.
