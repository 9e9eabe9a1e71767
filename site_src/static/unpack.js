// Unpacks LZMA, the strongest code that Python's own library writes, in the one form that the builder uses: raw, with
// 3 bits of context, no bits of position. After the specification of the LZMA SDK, which is in the public domain.
// What is damaged gives wrong bytes or an error, never a hang; whoever calls compares the hash.
function unpack(packed, size) {
  const out = new Uint8Array(size);
  const chances = (count) => new Uint16Array(count).fill(1024);
  const [range, code] = [0, 1];
  const coder = new Uint32Array([0xffffffff, new DataView(packed.buffer, packed.byteOffset).getUint32(1)]);
  let next = 5;

  function refill() {
    if (coder[range] >= 0x1000000) return;
    if (next >= packed.length + 5) throw new RangeError("the packed bytes end too early");
    coder[range] <<= 8;
    coder[code] = (coder[code] << 8) | packed[next];
    next += 1;
  }

  function bit(chance, at) {
    const zero = chance[at];
    const bound = (coder[range] >>> 11) * zero;
    const one = coder[code] >= bound;
    if (one) {
      coder[range] -= bound;
      coder[code] -= bound;
      chance[at] = zero - (zero >>> 5);
    } else {
      coder[range] = bound;
      chance[at] = zero + ((2048 - zero) >>> 5);
    }
    refill();
    return one ? 1 : 0;
  }

  function evenBits(count) {
    let number = 0;
    for (let i = 0; i < count; i += 1) {
      coder[range] >>>= 1;
      const one = coder[code] >= coder[range];
      if (one) coder[code] -= coder[range];
      number = (number << 1) | (one ? 1 : 0);
      refill();
    }
    return number;
  }

  function tree(chance, base, bits) {
    let node = 1;
    for (let i = 0; i < bits; i += 1) node = (node << 1) | bit(chance, base + node);
    return node - (1 << bits);
  }

  function lowestFirst(chance, base, bits) {
    let node = 1;
    let number = 0;
    for (let i = 0; i < bits; i += 1) {
      const one = bit(chance, base + node);
      node = (node << 1) | one;
      number |= one << i;
    }
    return number;
  }

  const literal = chances(8 * 0x300);
  const [isMatch, isRepeat, isOlder, isThird, isFourth, isLong] = Array.from({ length: 6 }, () => chances(12));
  const lengths = () => ({ choice: chances(2), low: chances(8), middle: chances(8), high: chances(256) });
  const [newLength, repeatLength] = [lengths(), lengths()];
  const slots = chances(4 * 64);
  const middleBits = chances(115);
  const lowBits = chances(16);

  function readLength({ choice, low, middle, high }) {
    if (!bit(choice, 0)) return 2 + tree(low, 0, 3);
    return bit(choice, 1) ? 18 + tree(high, 0, 8) : 10 + tree(middle, 0, 3);
  }

  function readDistance(length) {
    const slot = tree(slots, 64 * Math.min(length - 2, 3), 6);
    if (slot < 4) return slot;
    const bits = (slot >>> 1) - 1;
    const high = ((2 | (slot & 1)) << bits) >>> 0;
    if (slot < 14) return high + lowestFirst(middleBits, high - slot, bits);
    return high + evenBits(bits - 4) * 16 + lowestFirst(lowBits, 0, 4);
  }

  let at = 0;
  let state = 0; // what the last few steps were: below 7 the last was a literal
  let [first, second, third, fourth] = [0, 0, 0, 0]; // the last distances

  function readLiteral() {
    const base = 0x300 * ((at ? out[at - 1] : 0) >>> 5);
    let node = 1;
    if (state >= 7) {
      let expected = out[at - first - 1];
      let agrees = true;
      while (agrees && node < 0x100) {
        const wanted = expected >>> 7;
        expected = (expected << 1) & 0xff;
        const one = bit(literal, base + 0x100 * (1 + wanted) + node);
        node = (node << 1) | one;
        agrees = one === wanted;
      }
    }
    while (node < 0x100) node = (node << 1) | bit(literal, base + node);
    return node;
  }

  function takeOlder() {
    let chosen = second;
    if (bit(isThird, state)) {
      chosen = third;
      if (bit(isFourth, state)) {
        chosen = fourth;
        fourth = third;
      }
      third = second;
    }
    second = first;
    first = chosen;
  }

  // The length of what is repeated from before.
  function readMatch() {
    const afterLiteral = state < 7;
    if (!bit(isRepeat, state)) {
      [first, second, third, fourth] = [0, first, second, third];
      state = afterLiteral ? 7 : 10;
      const length = readLength(newLength);
      first = readDistance(length);
      return length;
    }
    if (bit(isOlder, state)) takeOlder();
    else if (!bit(isLong, state)) {
      state = afterLiteral ? 9 : 11;
      return 1;
    }
    state = afterLiteral ? 8 : 11;
    return readLength(repeatLength);
  }

  while (at < size) {
    if (!bit(isMatch, state)) {
      out[at] = readLiteral();
      at += 1;
      state -= Math.min(state, state < 10 ? 3 : 6);
    } else {
      const end = Math.min(at + readMatch(), size);
      if (first >= at) throw new RangeError("the packed bytes are damaged");
      for (; at < end; at += 1) out[at] = out[at - first - 1];
    }
  }
  return out;
}
