//! Pseudo-random numbers from a seed that is passed in: splitmix64 (Steele, Lea, Flood, "Fast splittable
//! pseudorandom number generators", OOPSLA 2014).

/// A seeded generator.
#[derive(Clone, Debug)]
pub struct Dice(u64);

impl Dice {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        Self(
            seed.wrapping_mul(0x9E37_79B9_7F4A_7C15)
                .wrapping_add(0x0123_4567),
        )
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Even on [0, 1).
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Even on 0..below; 0 when there is nothing to choose.
    pub fn below(&mut self, below: usize) -> usize {
        if below == 0 {
            return 0;
        }
        ((u128::from(self.next()) * below as u128) >> 64) as usize
    }

    /// One of them.
    pub fn pick<T: Copy>(&mut self, from: &[T]) -> Option<T> {
        from.get(self.below(from.len())).copied()
    }

    /// Any order.
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            list.swap(i, self.below(i + 1));
        }
    }
}
