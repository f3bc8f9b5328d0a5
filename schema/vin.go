package schema

import "strings"

// VINVerdict is what the characters of a vehicle identification number show.
// It says nothing about the car.
type VINVerdict struct {
	WellFormed bool // 17 figures and capital letters without I, O and Q
	CheckDigit byte // what the other characters give, '0' to '9' or 'X'; 0 when not well formed
	Matches    bool // position 9 holds the check digit
}

// CheckVIN judges the text of a vehicle identification number.
//
//	check digit = (sum over i of w[i] v[i]) mod 11, written X for 10
//
// with the weight w of each position and the value v of each character. The
// remainder is an integer: published tables of decimal remainders hold slips.
// A number that is not well formed, such as a chassis number from before 1981,
// has no check digit. A mismatch is only a note on a car that was not made for
// North America, because ISO 3779 asks for no check digit.
//
// Source: 49 CFR 565.15(c), Tables III (values) and IV (weights).
func CheckVIN(vin string) VINVerdict {
	sum, ok := vinSum(vin)
	if !ok {
		return VINVerdict{}
	}
	digit := "0123456789X"[sum%11]
	return VINVerdict{WellFormed: true, CheckDigit: digit, Matches: vin[8] == digit}
}

var vinWeights = [17]int{8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2}

// vinCharacters puts each character at a place whose last figure is its value:
// A stands at 11, J at 21, S at 32. A dash stands where there is none.
const vinCharacters = "0123456789-ABCDEFGH--JKLMN-P-R--STUVWXYZ"

// vinSum is the weighted sum; false when the text is not well formed.
func vinSum(vin string) (int, bool) {
	if len(vin) != len(vinWeights) {
		return 0, false
	}
	sum := 0
	for i, weight := range vinWeights {
		place := strings.IndexByte(vinCharacters, vin[i])
		if place < 0 || vin[i] == '-' {
			return 0, false
		}
		sum += weight * (place % 10)
	}
	return sum, true
}
