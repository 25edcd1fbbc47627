package outbox

// warning is one of the standing cautions of a report.
type warning struct{ Head, Text string }

// flyingCautions are what a new tip means for flight. They say what to ask and whom; the answers are the
// kit designer's, the authority's and those of people licensed to give them. Sources stand at each.
func flyingCautions() []warning {
	return []warning{
		// 14 CFR 21.93(a) and the operating limits usual in the USA; elsewhere words only.
		{"A new tip may be a major change.", "This report speaks of shape alone: nothing in it says that a tip is strong, well attached, free of flutter or legal. " +
			"Ask the kit's designer, follow the rules of your country and the limits of this very aeroplane, and have it inspected and test-flown as they say. " +
			"In the USA a change of shape can be a major one (14 CFR 21.93), after which the operating limits usually ask for a new test period."},
		// AC 43.13-1B 4-36a.
		{"An aileron is balanced.", "Filler or paint on an aileron changes its balance, and an aileron out of balance can flutter and break the wing. " +
			"Put none on it without balancing it again to the designer's figure. Do not thicken or round its trailing edge."},
		// Common practice, no source.
		{"Neutral is the designer's.", "Some ailerons are rigged drooped. Ask; do not take faired for granted, and tell the wing sheet."},
		// Computed: 0.3 m² at 4 m arm, one degree, 70 m/s at sea level, 0.08 of lift coefficient per degree: 70 N, 290 N·m.
		{"Twist rolls the aeroplane.", "A tip of 0.3 m² four metres out that is turned by one degree lifts or drops that wing with about 70 N at 70 m/s. " +
			"Match both tips, keep twist under 0.1°, and test stalls at a safe height as your flight-test guide says."},
		// Common practice, no source.
		{"Weigh it again.", "Tips, filler and paint count for weight and balance, and far out they slow the roll."},
	}
}

// shopCautions are what can hurt in the workshop.
func shopCautions() []warning {
	return []warning{
		// NBSIR 85-3224; McKenna & Hull, Fire Sci. Rev. 5:3 (2016). PVC: common practice.
		{"Only polystyrene on the hot wire.", "Urethane and other foams give off poisonous gases, cyanide among them. Never PVC foam. " +
			"Polystyrene gives off styrene: fresh air, no flames."},
		// Fuel: builders' practice as published; the rest common practice, no source.
		{"Polyester resin, petrol and many solvents dissolve polystyrene.", "Use epoxy, try everything on scrap, and keep fuel and its vents away from a tip with foam in it."},
		// Minnesota OSHA after NIOSH 76-148.
		{"Epoxy makes skin allergic.", "Wear gloves and never wash it off with solvent."},
		// US Army TM 1-1500-204-23-11; two-part paint: NIOSH 96-111.
		{"Dust and spray.", "Glass, filler and board dust: a respirator that fits, and suction where you sand. Two-part urethane paint holds isocyanates, which have killed: " +
			"leave spraying to those with supplied air."},
		// Data sheet of an extruded polystyrene board: 74 °C.
		{"Paint it white.", "Polystyrene gives way at about 74 °C, and dark paint in the sun gets hotter than that."},
	}
}
