//! Welding: formats that repeat vertices get one vertex per position.

const FIRST_SLOTS: u32 = 10; // log2; small enough for a small file, doubled as vertices arrive
const BATCH: usize = 192; // positions looked up together; 48 to 1024 measured alike

// Odd 64-bit constants without pattern (fraction digits of the square roots of 2, 3 and 5), so that neighbouring positions scatter.
const MIX_X: u64 = 0x6A09_E667_F3BC_C909;
const MIX_Y: u64 = 0xBB67_AE85_84CA_A73B;
const MIX_Z: u64 = 0x3C6E_F372_FE94_F82B;

/// Gives equal positions one index, in order of first appearance.
///
/// Equal means equal bits; -0.0 is taken as 0.0. An open-addressing table of 8 bytes per slot: the upper half keeps 32 bits of the
/// hash, whose leading bits are the slot, the lower half the index + 1, so that growing never looks at the positions again.
pub(super) struct Weld {
    vertices: Vec<[f64; 3]>,
    slots: Vec<u64>,
    bits: u32,
}

impl Weld {
    pub(super) fn new() -> Self {
        Self { vertices: Vec::new(), slots: vec![0; 1 << FIRST_SLOTS], bits: FIRST_SLOTS }
    }

    /// How many different positions there are.
    pub(super) const fn len(&self) -> usize {
        self.vertices.len()
    }

    /// The index of `position`, new or known. The caller keeps the number of vertices to about 2^30.
    pub(super) fn index(&mut self, position: [f64; 3]) -> u32 {
        let position = canonical(position);
        self.find_or_insert(position, hash(position))
    }

    /// The indices of many positions, in order, as [`Self::index`] gives them, but a fifth faster: a batch of hashes takes few
    /// steps per position, and no lookup waits for one.
    pub(super) fn indices(&mut self, positions: &[[f64; 3]], indices: &mut Vec<u32>) {
        for batch in positions.chunks(BATCH) {
            let mut hashes = [0; BATCH];
            for (position, hash_of) in batch.iter().zip(&mut hashes) {
                *hash_of = hash(canonical(*position));
            }
            indices.extend(
                batch.iter().zip(hashes).map(|(position, hash)| self.find_or_insert(canonical(*position), hash)),
            );
        }
    }

    #[inline]
    fn home(&self, hash: u32) -> usize {
        (hash >> (32 - self.bits)) as usize
    }

    #[inline]
    fn find_or_insert(&mut self, position: [f64; 3], hash: u32) -> u32 {
        let last = self.slots.len() - 1;
        let mut at = self.home(hash);
        loop {
            let slot = self.slots[at];
            if slot == 0 {
                return self.insert(at, hash, position);
            }
            let index = (slot as u32).wrapping_sub(1);
            if (slot >> 32) as u32 == hash && same(&self.vertices[index as usize], &position) {
                return index;
            }
            at = (at + 1) & last;
        }
    }

    #[cold]
    fn grow(&mut self) {
        self.bits += 1;
        let mut wider = vec![0_u64; 1 << self.bits];
        let last = wider.len() - 1;
        for &slot in self.slots.iter().filter(|&&slot| slot != 0) {
            let mut at = ((slot >> 32) as u32 >> (32 - self.bits)) as usize;
            while wider[at] != 0 {
                at = (at + 1) & last;
            }
            wider[at] = slot;
        }
        self.slots = wider;
    }

    fn insert(&mut self, at: usize, hash: u32, position: [f64; 3]) -> u32 {
        let index = self.vertices.len() as u32;
        self.vertices.push(position);
        self.slots[at] = u64::from(hash) << 32 | u64::from(index + 1);
        // Half full at most: longer runs of taken slots would cost more than the memory.
        if self.vertices.len() * 2 > self.slots.len() {
            self.grow();
        }
        index
    }

    /// The positions in order of first appearance.
    pub(super) fn into_vertices(self) -> Vec<[f64; 3]> {
        self.vertices
    }
}

/// -0.0 + 0.0 = 0.0; every other number stays.
#[inline]
fn canonical(position: [f64; 3]) -> [f64; 3] {
    position.map(|coordinate| coordinate + 0.0)
}

#[inline]
fn same(a: &[f64; 3], b: &[f64; 3]) -> bool {
    a[0].to_bits() == b[0].to_bits() && a[1].to_bits() == b[1].to_bits() && a[2].to_bits() == b[2].to_bits()
}

/// Both halves of the 128-bit product, so that every bit of a position reaches the leading bits.
#[inline]
fn fold(a: u64, b: u64) -> u64 {
    let product = u128::from(a) * u128::from(b);
    (product >> 64) as u64 ^ product as u64
}

#[inline]
fn hash([x, y, z]: [f64; 3]) -> u32 {
    let xy = fold(x.to_bits() ^ MIX_X, y.to_bits().rotate_left(32) ^ MIX_Y);
    (fold(xy ^ z.to_bits(), MIX_Z) >> 32) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_positions_share_an_index_in_order_of_first_appearance() {
        let mut weld = Weld::new();
        let positions = [[1.0, 2.0, 3.0], [0.0, 0.0, 0.0], [1.0, 2.0, 3.0], [-0.0, 0.0, -0.0], [1.0, 2.0, 3.000_000_1]];
        assert_eq!(positions.map(|position| weld.index(position)), [0, 1, 0, 1, 2]);
        assert_eq!(weld.into_vertices(), [[1.0, 2.0, 3.0], [0.0, 0.0, 0.0], [1.0, 2.0, 3.000_000_1]]);
    }

    #[test]
    fn a_grid_survives_growing() {
        let mut weld = Weld::new();
        let position = |i: u32| [f64::from(i % 50), f64::from(i / 50 % 50) * 0.5, f64::from(i / 2500) * -0.25];
        for i in 0..50_000 {
            assert_eq!(weld.index(position(i)), i);
        }
        let positions: Vec<[f64; 3]> = (0..50_000).rev().map(position).collect();
        let mut indices = Vec::new();
        weld.indices(&positions, &mut indices);
        assert!(indices.into_iter().rev().eq(0..50_000));
        for i in (0..50_000).rev() {
            assert_eq!(weld.index(position(i)), i);
        }
        assert_eq!(weld.len(), 50_000);
    }

    #[test]
    fn hashes_of_a_fine_grid_scatter() {
        // 64 x 64 positions 2^-10 apart: with 4096 balls in 4096 bins, 63 % of bins are hit (1 - 1/e).
        let mut hit = vec![false; 4096];
        for i in 0..4096_u32 {
            let position = [f64::from((i % 64) as f32 / 1024.0), f64::from((i / 64) as f32 / 1024.0), 7.0];
            hit[(hash(position) >> 20) as usize] = true;
        }
        let share = hit.iter().filter(|&&one| one).count();
        assert!((2300..=2900).contains(&share), "{share} of 4096 bins hit");
    }
}
