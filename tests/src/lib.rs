//! Helpers shared by the checks.
