package sheet_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fromrest/pkg/sheet"
)

func loadText(t *testing.T, text string) (*sheet.Sheet, error) {
	t.Helper()
	name := filepath.Join(t.TempDir(), "session.toml")
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return sheet.Load(name)
}

func TestAxleKeys(t *testing.T) {
	s, err := loadText(t, "[vehicle]\nrear_axle = \"solid\"\nfront_axle = \"independent\"\nfront_track_m = 1.7\nrear_track_m = 1.65\nfront_roll_stiffness_share = 0.6\n")
	if err != nil {
		t.Fatal(err)
	}
	v := s.Vehicle
	if v.FrontSolid || !v.RearSolid || v.FrontTrack != 1.7 || v.RearTrack != 1.65 || v.RollShare != 0.6 {
		t.Errorf("read %+v", v)
	}
	for bad, want := range map[string]string{
		"rear_axle = \"beam\"":             "line 2: ",
		"front_roll_stiffness_share = 1.4": "want a share from 0 to 1",
		"rear_track_m = -1.6":              "want metres, 0.5 to 3",
		"rear_trak_m = 1.6":                `did you mean "rear_track_m"`,
		"front_roll_stifness_share = 0.6":  "front_roll_stiffness_share",
		"rear_axel = \"solid\"":            "rear_axle",
	} {
		if _, err := loadText(t, "[vehicle]\n"+bad+"\n"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want %q in it", bad, err, want)
		}
	}
}
