package shop

import (
	"strings"
	"testing"
)

func TestAdvice(t *testing.T) {
	const sheet, photo, name = "A wing sheet is named wing.toml", "photographs go through", "name begins with left or right"
	for list, want := range map[string][]string{
		"":                              {},
		"wing.toml.txt":                 {sheet},
		"Wing.txt":                      {sheet},
		"wing2.toml":                    {sheet},
		"left.jpg":                      {photo},
		"scan1.ply":                     {name},
		"sub: a folder":                 {name},
		"left.ply: a link to nowhere":   {name},
		"IMG_1.heic|left.heic|my.toml":  {sheet, photo, name},
		"Scan left wing.ply|wing (1).x": {name},
	} {
		var files []string
		if list != "" {
			files = strings.Split(list, "|")
		}
		got := advice(files)
		for _, say := range []string{sheet, photo, name} {
			wanted := false
			for _, w := range want {
				wanted = wanted || w == say
			}
			if strings.Contains(got, say) != wanted {
				t.Errorf("%s: %q", list, got)
			}
		}
	}
}
