package schema_test

import (
	"encoding/hex"
	"math"
	"strconv"
	"strings"
	"testing"

	"feedproof/schema"
)

// The example of RFC 8785, sections 3.2.2 (input) to 3.2.4 (bytes), and the
// one of 3.2.3 for the order of keys; from memory. The bytes of the first are
// those of testdata/outhex/values.txt of the library.
func TestCanonicalRFC8785(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{
			"section 3.2.2", `{
			  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
			  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
			  "literals": [null, true, false]
			}`,
			unhex(t, `7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72 75 65 2c 66 61 6c 73 65 5d 2c 22
			6e 75 6d 62 65 72 73 22 3a 5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31 65 2b 33 30 2c
			34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37 5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30
			30 30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d`),
		},
		{
			"section 3.2.3", `{
			  "\u20ac": "Euro Sign",
			  "\r": "Carriage Return",
			  "\ufb33": "Hebrew Letter Dalet With Dagesh",
			  "1": "One",
			  "\ud83d\ude00": "Emoji: Grinning Face",
			  "\u0080": "Control",
			  "\u00f6": "Latin Small Letter O With Diaeresis"
			}`,
			`{"\r":"Carriage Return","1":"One","` + "\u0080" + `":"Control","ö":"Latin Small Letter O With Diaeresis",` +
				`"€":"Euro Sign","😀":"Emoji: Grinning Face","` + "\ufb33" + `":"Hebrew Letter Dalet With Dagesh"}`,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := schema.Canonical([]byte(tt.in))
			if err != nil || string(got) != tt.want {
				t.Errorf("got  %s, %v\nwant %s", got, err, tt.want)
			}
		})
	}
}

func unhex(t *testing.T, s string) string {
	t.Helper()
	b, err := hex.DecodeString(strings.Join(strings.Fields(s), ""))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// RFC 8785, appendix B: IEEE 754 bits and their text; from memory.
func TestCanonicalNumbersRFC8785(t *testing.T) {
	for bits, want := range map[uint64]string{
		0x0000000000000000: "0",
		0x8000000000000000: "0",
		0x0000000000000001: "5e-324",
		0x8000000000000001: "-5e-324",
		0x7fefffffffffffff: "1.7976931348623157e+308",
		0xffefffffffffffff: "-1.7976931348623157e+308",
		0x4340000000000000: "9007199254740992",
		0xc340000000000000: "-9007199254740992",
		0x4430000000000000: "295147905179352830000",
		0x44b52d02c7e14af5: "9.999999999999997e+22",
		0x44b52d02c7e14af6: "1e+23",
		0x44b52d02c7e14af7: "1.0000000000000001e+23",
		0x444b1ae4d6e2ef4e: "999999999999999700000",
		0x444b1ae4d6e2ef4f: "999999999999999900000",
		0x444b1ae4d6e2ef50: "1e+21",
		0x3eb0c6f7a0b5ed8c: "9.999999999999997e-7",
		0x3eb0c6f7a0b5ed8d: "0.000001",
		0x41b3de4355555553: "333333333.3333332",
		0x41b3de4355555554: "333333333.33333325",
		0x41b3de4355555555: "333333333.3333333",
		0x41b3de4355555556: "333333333.3333334",
		0x41b3de4355555557: "333333333.33333343",
		0xbecbf647612f3696: "-0.0000033333333333333333",
		0x43143ff3c1cb0959: "1424953923781206.2",
	} {
		in := strconv.FormatFloat(math.Float64frombits(bits), 'e', 20, 64)
		if got, err := schema.Canonical([]byte(in)); err != nil || string(got) != want {
			t.Errorf("%016x (%s): got %s, %v, want %s", bits, in, got, err, want)
		}
	}
}

// RFC 8785, section 3.2.2.2: a lone surrogate has no canonical form; its pair has.
func TestCanonicalRefusesLoneSurrogate(t *testing.T) {
	if got, err := schema.Canonical([]byte(`["\ud83d\ude00"]`)); err != nil || string(got) != `["😀"]` {
		t.Fatalf("a pair: got %s, %v", got, err)
	}
	if got, err := schema.Canonical([]byte(`["\ud83d"]`)); err == nil {
		t.Errorf("a lone surrogate became %s", got)
	}
}
