//! Chance that can be repeated: SplitMix64 (Steele, Lea, Flood, "Fast splittable
//! pseudorandom number generators", OOPSLA 2014), begun from a seed and a name.
//!
//! Everything that chance decides has its own stream, named after what is
//! decided: with a fault or a household left out, all else goes as before.

/// A stream of numbers.
pub struct Dice(u64);

impl Dice {
    /// The stream of a name.
    pub fn of(seed: u64, name: &str) -> Dice {
        // FNV-1a, 64 bits.
        let hash = name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash: u64, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        });
        let mut dice = Dice(seed ^ hash);
        dice.next();
        dice
    }

    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Below `n`, which is at least one.
    pub fn below(&mut self, n: u64) -> u64 {
        self.next() % n
    }

    /// From `low` to `high`, both included.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        let span = u64::try_from(high - low).expect("low comes first") + 1;
        low + i64::try_from(self.below(span)).expect("within the span")
    }

    pub fn percent(&mut self, percent: u64) -> bool {
        self.below(100) < percent
    }

    pub fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        let n = self.below(of.len() as u64);
        &of[usize::try_from(n).expect("an index")]
    }
}

#[test]
fn the_numbers_are_those_of_splitmix64() {
    // The first outputs from state 1234567, as printed at rosettacode.org,
    // "Pseudo-random numbers/Splitmix64".
    let mut dice = Dice(1_234_567);
    let numbers: Vec<u64> = (0..5).map(|_| dice.next()).collect();
    assert_eq!(
        numbers,
        [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821
        ]
    );
}
