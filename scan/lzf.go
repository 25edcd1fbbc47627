package scan

// lzfMost is how much the LZF packing can shrink: three bytes stand for at most 264.
const lzfMost = 88

// unpackLZF unpacks what the LZF method packed, into exactly size bytes; ok is false for damaged bytes. A control
// byte below 32 comes before so many literal bytes plus one; any other has in its upper three bits a length
// less two, 7 for more in the next byte, and in its lower five the high bits of a distance back less one
// (format as implemented by LibLZF, from memory).
func unpackLZF(packed []byte, size int) (d []byte, ok bool) {
	d = make([]byte, 0, size)
	for len(packed) > 0 {
		control := int(packed[0])
		packed = packed[1:]
		if control < 32 {
			n := control + 1
			if n > len(packed) || len(d)+n > size {
				return nil, false
			}
			d = append(d, packed[:n]...)
			packed = packed[n:]
			continue
		}
		length := control >> 5
		if length == 7 && len(packed) > 0 {
			length += int(packed[0])
			packed = packed[1:]
		}
		if length += 2; len(packed) == 0 {
			return nil, false
		}
		from := len(d) - (control&31)<<8 - int(packed[0]) - 1
		packed = packed[1:]
		if from < 0 || len(d)+length > size {
			return nil, false
		}
		for i := range length { // byte by byte: the two may overlap
			d = append(d, d[from+i])
		}
	}
	return d, len(d) == size
}
