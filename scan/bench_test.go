package scan

import "testing"

// BenchmarkDecode reads a mesh of a quarter of a million corners in every variant.
func BenchmarkDecode(b *testing.B) {
	s := wave(500)
	for _, v := range variants() {
		data := v.write(b, s)
		b.Run(v.name, func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Decode(data, "wing"+v.ending, DefaultLimits); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
