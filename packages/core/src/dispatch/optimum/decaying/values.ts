/** Slopes that differ, at the most: prices that change by the hour have more, and are left to the list. */
export const MOST_SLOPES = 48;
/** Runs of one slope that are told apart, a power of two; more are put to the last one. */
const DEEP = 512;
/** Ways of a run to store and to give. */
export const WAYS = 3;

/** The value of stored energy: for each slope how much is worth it, in runs, of which the newest is worth most. */
export class Values {
  #count = 0;
  /** No rank before it has anything. */
  #first = 0;
  #wholeKwh = 0;
  readonly #slope = new Float64Array(MOST_SLOPES).fill(Number.NaN);
  readonly #totalKwh = new Float64Array(MOST_SLOPES);
  /** Runs of each rank in a ring: from `oldest` to before `newest`. */
  readonly #oldest = new Int32Array(MOST_SLOPES);
  readonly #newest = new Int32Array(MOST_SLOPES);
  /** Where the ring of a rank stands: it stays where it is when slopes come between. */
  readonly #ring = new Int32Array(MOST_SLOPES);
  readonly #wideKwh = new Float64Array(MOST_SLOPES * DEEP);
  readonly #leastWorth = new Float64Array(MOST_SLOPES * DEEP);
  /** The rank that a way had last: prices come again. */
  readonly #lastOf = new Uint8Array(WAYS);

  /** Place of a slope among those met so far, falling; `MOST_SLOPES` where there is no room for one more. */
  rankOf(slope: number, way: number): number {
    let rank = this.#lastOf[way]!;
    if (this.#slope[rank] === slope) return rank;
    rank = 0;
    while (rank < this.#count && this.#slope[rank]! > slope) rank++;
    if (rank === this.#count || this.#slope[rank] !== slope) {
      if (this.#count === MOST_SLOPES) return MOST_SLOPES;
      for (const list of [this.#slope, this.#totalKwh, this.#oldest, this.#newest, this.#ring])
        list.copyWithin(rank + 1, rank, this.#count);
      this.#slope[rank] = slope;
      this.#totalKwh[rank] = 0;
      this.#oldest[rank] = this.#newest[rank] = 0;
      this.#ring[rank] = this.#count * DEEP;
      this.#count++;
      if (rank <= this.#first) this.#first++;
      this.#lastOf.fill(0);
    }
    this.#lastOf[way] = rank;
    return rank;
  }

  /** Energy that is worth more than what is put to a rank now; that of the rank itself too where it is worth as much. */
  above(rank: number, orEqual: boolean): number {
    let sum = 0;
    for (let r = this.#first; r < rank; r++) sum += this.#totalKwh[r]!;
    return orEqual ? sum + this.#totalKwh[rank]! : sum;
  }

  /** Adds a run's energy, which is worth most of its rank. @returns whether it is worth no more than what a dearer rank holds */
  put(rank: number, wideKwh: number, leastWorth: number, mostWorth = leastWorth): boolean {
    if (leastWorth < 0) return false;
    const newest = this.#newest[rank]!;
    this.#totalKwh[rank]! += wideKwh;
    this.#wholeKwh += wideKwh;
    if (rank < this.#first) this.#first = rank;
    if (newest - this.#oldest[rank]! === DEEP)
      this.#wideKwh[this.#ring[rank]! + ((newest - 1) & (DEEP - 1))]! += wideKwh;
    else {
      const at = this.#ring[rank]! + (newest & (DEEP - 1));
      this.#wideKwh[at] = wideKwh;
      this.#leastWorth[at] = leastWorth;
      this.#newest[rank] = newest + 1;
    }
    let dearer = rank - 1;
    while (dearer >= this.#first && this.#newest[dearer] === this.#oldest[dearer]) dearer--;
    if (dearer < this.#first) return true;
    return this.#leastWorth[this.#ring[dearer]! + (this.#oldest[dearer]! & (DEEP - 1))]! >= mostWorth;
  }

  /** Cuts what is worth most, and then what is worth least, until so much is left. */
  cut(mostKwh: number, leaveKwh: number): void {
    let skip = mostKwh;
    this.#wholeKwh -= skip;
    for (; this.#first < this.#count; this.#first++) {
      const rank = this.#first;
      const ring = this.#ring[rank]!;
      const oldest = this.#oldest[rank]!;
      let newest = this.#newest[rank]!;
      while (newest > oldest) {
        const wide = this.#wideKwh[ring + ((newest - 1) & (DEEP - 1))]!;
        if (wide > skip) break;
        skip -= wide;
        this.#totalKwh[rank]! -= wide;
        newest--;
      }
      this.#newest[rank] = newest;
      if (newest > oldest) {
        this.#wideKwh[ring + ((newest - 1) & (DEEP - 1))]! -= skip;
        this.#totalKwh[rank]! -= skip;
        break;
      }
      this.#totalKwh[rank] = 0;
    }
    let over = this.#wholeKwh - leaveKwh;
    this.#wholeKwh = leaveKwh;
    for (let rank = this.#count - 1; over > 0 && rank >= this.#first; rank--) {
      const ring = this.#ring[rank]!;
      const newest = this.#newest[rank]!;
      let oldest = this.#oldest[rank]!;
      while (oldest < newest) {
        const wide = this.#wideKwh[ring + (oldest & (DEEP - 1))]!;
        if (wide > over) break;
        over -= wide;
        this.#totalKwh[rank]! -= wide;
        oldest++;
      }
      this.#oldest[rank] = oldest;
      if (oldest < newest) {
        this.#wideKwh[ring + (oldest & (DEEP - 1))]! -= over;
        this.#totalKwh[rank]! -= over;
        break;
      }
      this.#totalKwh[rank] = 0;
    }
  }
}
