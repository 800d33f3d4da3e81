//! (not written yet)
