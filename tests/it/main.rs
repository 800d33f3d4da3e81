//! Integration tests, one binary.
mod order_brute;
