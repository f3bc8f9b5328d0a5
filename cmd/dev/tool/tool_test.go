package tool

import (
	"bytes"
	"strings"
	"testing"
)

func TestPicksTheTool(t *testing.T) {
	for _, test := range []struct {
		args []string
		code int
		says string
	}{
		{nil, 2, "usage:"},
		{[]string{"nothing"}, 2, "invent"},
		{[]string{"invent"}, 1, "invent: -dir: name a new folder"},
		{[]string{"schemas"}, 1, "schemas: want the folder"},
		{[]string{"house"}, 1, "house: want the folder of the module"},
		{[]string{"bench", "all"}, 1, "takes no arguments"},
		{[]string{"growth", "-h"}, 2, ""},
	} {
		var out, complaints bytes.Buffer
		if code := Main(test.args, &out, &complaints); code != test.code || !strings.Contains(complaints.String(), test.says) {
			t.Errorf("%q: code %d, said %q; want %d and %q", test.args, code, complaints.String(), test.code, test.says)
		}
	}
}
