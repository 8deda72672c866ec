//! Fields that were drawn and set aside before the first check was written, and are told apart.

/// What the draw starts from.
const SEED: u64 = 2611;

/// Whether a field is one of the third that was set aside: its name alone decides.
pub fn is_aside(name: &str) -> bool {
    // FNV-1a over the name, then one round of SplitMix64: the last bits of the first alone follow
    // the last letter.
    let seed = SEED ^ 0xcbf2_9ce4_8422_2325;
    let hash = name
        .bytes()
        .fold(seed, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3));
    let mixed = (hash ^ (hash >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    (mixed >> 33).is_multiple_of(3)
}
