package bench

import "testing"

// Gas of cryogens: university and supplier figures that are in use side by side
// (682, 693, 696 and 700 L of nitrogen per litre; 835 to 847 of argon; 738 to 757
// of helium; 0.552 m³ per kg of dry ice). The table's figure lies in the span, at
// its upper end where there is one.
func TestCryogenExpansion(t *testing.T) {
	table := loadRoom()
	for _, w := range []struct {
		name      string
		got       float64
		low, high float64
	}{
		{"liquid nitrogen", table.Liquids["liquid nitrogen"].Gas, 682, 700},
		{"liquid argon", table.Liquids["liquid argon"].Gas, 835, 847},
		{"liquid helium", table.Liquids["liquid helium"].Gas, 738, 757},
		{"dry ice", table.Solids["dry ice"].Gas, 24.055 / 44.01, 0.552},
	} {
		if w.got < w.low || w.got > w.high {
			t.Errorf("%s: %v, want %v to %v", w.name, w.got, w.low, w.high)
		}
	}
	// the derived figure: 0.807 kg/L at the boiling point
	near(t, "nitrogen by its density", 0.807/0.0280134*GasLitres(1000)*293.15/298.15, 693, 0.03)
}

// Rooms after the formula of the Oxford statement: 25 L of liquid nitrogen at
// 682 L per litre and a size W nitrogen cylinder (10.78 m³, note SOM036a) in
// 50 m³; the gas that brings that room to 19.5 %.
func TestRoomExamples(t *testing.T) {
	near(t, "25 L of liquid nitrogen in 50 m3", RoomOxygen(50, 25*0.682), 13.81, 0.01)
	near(t, "a size W nitrogen cylinder in 50 m3", RoomOxygen(50, 10.78), 16.43, 0.01)
	near(t, "3.46 m3 in 50 m3", RoomOxygen(50, 3.46), 19.5, 0.01)
	near(t, "a full cylinder of 50 L", loadRoom().Cylinder["bar"].Value*50/1000, 10.78, 0.1)
}

// 1 L of air at 20 °C and 50 % relative humidity holds 0.480 mmol of water and
// 8.61 mmol of oxygen (ideal gas, CRC vapour pressure of water, 20.95 %).
func TestAirOfAFlask(t *testing.T) {
	const k = 1000 * Atm * 100 / 1e6 / 8.314462618 / 293.15 * 1000 // mmol in 1 L
	air := Air(0.5, 20)
	near(t, "water", k*air.H2O, 0.480, 0.01)
	near(t, "oxygen", k*air.O2, 8.61, 0.01)
}
