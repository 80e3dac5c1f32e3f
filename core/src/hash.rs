//! The hash of a text, the same on every machine and in every version.

/// The hash FNV-1a of 64 bits (Fowler, Noll and Vo, draft-eastlake-fnv).
pub(crate) fn fnv_1a(text: &str) -> u64 {
    text.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_is_the_published_one() {
        // Test vectors of draft-eastlake-fnv, appendix C.
        assert_eq!(fnv_1a(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv_1a("foobar"), 0x8594_4171_f739_67e8);
    }
}
