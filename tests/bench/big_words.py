"""Words of the large house: components by product, phrases of the trade, and how they are joined.

Everything is invented or plain trade English. A symbol in braces stands for one of its choices;
``{a*}`` draws with a Zipf-like spread, so that a few words are everywhere and most are rare.
"""

from __future__ import annotations

PRODUCTS = {
    "dishwasher": "drain pump, circulation pump, inlet valve, spray arm, door seal, sump, "
    "softener, dispenser, flow meter, float switch, heater, water guard, basket, door lock, filter "
    "cylinder, water pocket, diverter, turbidity sensor, hinge, door spring, vent fan, salt cap",
    "washer": "drain pump, inlet valve, door gasket, door lock, drum bearing, shock absorber, "
    "motor, drive belt, pressure switch, air trap, detergent drawer, heater, shaft seal, "
    "counterweight, sump hose, suspension spring, tub, carbon brush, pulley, tachometer, paddle, "
    "drain hose",
    "dryer": "drive belt, idler pulley, drum roller, lint filter, humidity sensor, blower wheel, "
    "heater, thermal fuse, condensate pump, heat exchanger, door switch, drum seal, exhaust duct, "
    "compressor, motor, drum light, glide pad, water container, thermostat, fan motor, start "
    "switch",
    "refrigerator": "compressor, evaporator fan, defrost heater, defrost sensor, door gasket, "
    "ice maker, water filter, air damper, start device, condenser, crisper drawer, hinge bushing, "
    "drain gutter, thermostat, door switch, light strip, dispenser flap, capillary tube, dryer, "
    "anti-sweat heater, shelf, fill tube",
    "freezer": "compressor, evaporator fan, defrost heater, lid gasket, lid hinge, start device, "
    "condenser fan, thermostat, drain plug, basket runner, alarm buzzer, overload protector, "
    "suction line, door gasket, control knob, temperature display, castor",
    "oven": "bake element, grill element, door hinge, door seal, oven lamp, fan element, cooling "
    "fan, door lock, temperature probe, steam generator, water tank, catalytic liner, rotary knob, "
    "clock module, side rack, inner glass, thermal cut-out, convection fan, selector switch",
    "hob": "induction coil, power stage, touch panel, glass top, radiant element, gas tap, burner "
    "cap, spark electrode, flame sensor, injector, pan support, ignition module, cooling fan, "
    "relay, coil sensor, line filter, retaining clip, residual heat lamp",
    "range": "bake element, burner cap, spark electrode, gas tap, oven valve, igniter, door hinge, "
    "door glass, surface element, infinite switch, clock module, storage drawer, levelling leg, "
    "anti-tip bracket, manifold, flame sensor, pressure regulator, oven lamp",
}
EVERYWHERE = (
    "main control, display board, wiring harness, mains lead, line filter, rating plate, "
    "temperature sensor, fuse, earth connection, foot, worktop, side panel, inlet hose, fascia"
)
KEPT = "main control, display board"  # told to be left in; no bulletin of this house fits them

SYMBOLS: dict[str, str] = {
    "side": "left | right | rear | front | upper | lower | inner | outer | bottom | middle",
    "place": "at the {side} edge | behind the {thing*} | under the {thing*} | near the {comp} | "
    "on the {side} side | beside the {thing*} | inside the {thing*} | above the {comp} | "
    "between {comp} and {thing*} | along the {side} rail | in the {side} corner",
    "thing*": "cover cabinet bracket plinth housing panel clip screw frame floor tray gasket "
    "connector hose shield sleeve lug rail plate shaft channel nut washer spring terminal grommet "
    "base wall lid trim insulation strap hub guide bush spacer foil socket flange boss groove rib "
    "tab latch pin roller collar membrane baffle nozzle duct grille chamber jacket seam weld "
    "bolt stud rivet clamp retainer yoke carrier ledge mount cup dome cap ring disc wedge shim "
    "gutter spout elbow tee union ferrule gland bezel hatch skirt crossbar lever rod link hook "
    "pawl ratchet cam detent plunger piston diaphragm bellows",
    "cause*": "limescale | grease | lint | a broken wire | a loose terminal | corrosion | "
    "a bent {thing*} | a worn {thing*} | moisture | frost | a hair crack | a missing {thing*} | "
    "a foreign body | soap residue | fluff | a blocked {thing*} | wrong mounting | rubbing wires | "
    "a weak {thing*} | a chafed {thing*} | heat | play in the {thing*} | a burnt contact | "
    "low voltage | low water pressure | a kinked hose | sand | a short to earth | a dry joint | "
    "swollen rubber | a tired spring | a stone | a hairpin | glass | hard water | overfilling | "
    "a shipping bolt left in | an uneven floor | condensation | a loose {comp} | ageing foam | "
    "a {rare*} out of place | the wrong {rare*} | resin on the {thing*} | vibration | "
    "a stuck {thing*} | ice in the {thing*} | a tripped {rare*} | a torn {rare*}",
    "noise*": "hums | rattles | squeals | clicks | grinds | whistles | knocks | buzzes | rumbles | "
    "chirps | gurgles | scrapes | roars | ticks | howls | hisses | bangs | creaks | groans",
    "fault*": "does not start | stops | leaks | stays cold | overheats | trips the breaker | "
    "does not move | jams | runs on | vibrates | smells burnt | stays wet | drips | does not lock "
    "| shows nothing | flickers | beeps | is slow | turns backwards | does not heat | ices up | "
    "fills without end | empties too late | loses pressure | sticks | sparks | comes loose | "
    "does not answer | forgets its setting | warps | cracks | sags | wanders off | starts by "
    "itself",
    "when*": "after a cold night | after some minutes | in the middle of the programme | when warm "
    "| when empty | at full load | at the end | after a power cut | in summer | now and then | "
    "at the first start | while filling | during the spin | at night | every third time | "
    "after cleaning | after the last visit | when the tap is half open | on the highest setting | "
    "on eco | with the door ajar | after moving house | in damp rooms | at low mains voltage | "
    "as soon as the {comp} runs | before the {comp} starts | when the neighbour showers | "
    "after two weeks' holiday | with hard water | with wool | with glass on the lowest shelf",
    "verb*": "check | look at | clean | measure | press | pull | remove | loosen | turn | tighten "
    "| rinse | unplug | feel | lift | listen to | wipe | replace | open | mark | photograph | "
    "weigh | tap | bend | straighten | grease | dry | shake | compare | slacken | support | refit "
    "| swap",
    "tool*": "multimeter | torch | star driver T20 | flat screwdriver | pliers | mirror | "
    "clamp meter | feeler gauge | spring balance | towel | bucket | nut driver 8 mm | hex key 4 mm "
    "| scraper | vacuum cleaner | thermometer | manometer | insulated screwdriver | crimp tool | "
    "leak spray | brush | scales | ratchet | circlip pliers | wedge | heat gun | tape measure | "
    "timer | nitrogen kit | combustion analyser | megohmmeter",
    "stuff*": "silicone grease | cleaning vinegar | thread lock | cable ties | contact spray | "
    "citric acid | foam tape | paper towels | heat-shrink sleeve | bearing grease | sealing tape | "
    "food dye | descaler | lint-free cloth | leak-test fluid | terminals | hose clamps | talcum",
    "quantity": "{{{n} N m}} | {{{n} mm}} | {{{n} degC}} | {{{n} L}} | {{0.{d} bar}} | {{{n} cm}} "
    "| {{{d} kg}} | {{{n} V}} | {{{n} ohm}}",
    "many": "two | three | four | five | six | a dozen | both | all | most of the",
    "who": "the owner | a colleague | the kitchen fitter | the neighbour | whoever was there last "
    "| the installer | the dealer | the caretaker",
    "material*": "rubber steel brass plastic felt foam copper aluminium glass ceramic silicone "
    "nylon mica enamel zinc paper graphite chrome bitumen fibre cork leather tin nickel wool wood "
    "stone titanium porcelain resin",
    "colour": "black white red blue grey green yellow brown clear orange violet pink silver",
    "adjective*": "loose tight warm cold soft hard dry wet dirty clean bent flat round sharp short "
    "long thin thick old new rough smooth light heavy dull bright brittle sticky oily greasy dusty "
    "rusty cracked swollen worn burnt scorched frayed crooked hollow solid slack stiff springy "
    "chalky slimy milky foggy gritty noisy silent hidden open closed spare narrow wide deep "
    "shallow steep level double single blunt pitted glazed dented scratched faded stained tacky "
    "spongy porous leaky lopsided tilted twisted kinked pinched seized",
    "adverb*": "slowly firmly gently evenly fully halfway twice sideways upwards downwards "
    "backwards barehanded once crosswise lightly squarely carefully loosely straight tightly "
    "briefly quickly again diagonally blindly outwards inwards clockwise steadily partly barely "
    "repeatedly",
    "done*": "glued welded clipped screwed pressed moulded coated cut drilled folded bonded "
    "crimped soldered taped sealed locked shortened lengthened turned replaced reinforced painted "
    "marked stamped printed polished hardened shielded insulated fused riveted lined padded tinned "
    "varnished plated bolted braided sleeved perforated vented guided centred balanced adjusted",
    "month": "January February March April May June July August September October November "
    "December",
    "year": "2012 2013 2014 2015 2016 2017 2018 2019 2020 2021 2022 2023 2024 2025",
    "rare*": "{compounds}",
}

SENTENCES = """
{verb*} the {comp} first, then the {rare*} {place}.
The {comp} {fault*} {when*}, and nearly always {cause*} is behind it.
In {many} cases {cause*} was found {place}.
If the {comp} {noise*} {when*}, {verb*} the {rare*}.
No need to {verb*} the {comp}: {cause*} {place} is enough to explain it.
{verb*} the {rare*} and {verb*} the {thing*} {place}; {quantity} is right.
A sound {comp} shows {quantity}, a bad one less than half.
{who} says that it {noise*} {when*}.
Do not {verb*} the {thing*} by force; the {rare*} breaks at about {quantity}.
{verb*} the {many} screws {place}, lift the {thing*} and {verb*} the {comp}.
{cause*} lets the {comp} run hot, which then {fault*}.
Since {towns} changed the {rare*}, the {thing*} is {side} and the {comp} sits {quantity} higher.
Look for {cause*}, {cause*} or {cause*} before anything is ordered.
When the {comp} {fault*} only {when*}, leave it in and {verb*} the {rare*}.
Tighten the {thing*} to {quantity}, then turn it back a little.
Units from {towns} have the {rare*} {place}, older ones have it {place}.
Put the {tool*} on the {thing*} {place}: it must read {quantity}.
The {thing*} hides {cause*}; a {tool*} and some {stuff*} are all it takes.
Ask {who} whether it {noise*} {when*} or only {when*}.
That the {comp} {noise*} {when*} is no fault.
After the work let it run until the {comp} has been on twice, and {verb*} the {thing*} again.
Without the {tool*} it cannot be told from {cause*}.
It takes {quantity} of travel until the {rare*} meets the {thing*}.
{verb*} what lies {place}; {verb*} the {rare*} only if it is marked {side}.
Old stock of the {rare*} is recognised by the {thing*} {place}.
Should the {comp} still {fault*}, {cause*} {place} remains.
Route the wires {place}, never over the {rare*}.
The {rare*} of {towns} has {many} tabs, the one of {towns} none.
With {stuff*} on the {thing*} the {comp} slides in by hand.
Write down {quantity} and where {cause*} was seen.
{verb*} it {when*}, not cold, or {cause*} goes unseen.
One visit in {n} ends here: {cause*}.
Tell {who} to wait until the {comp} {noise*}, then to {verb*} the {thing*}.
A {rare*} with {cause*} feels rough when turned; a new {comp} does not help.
The {side} {thing*} comes off with a quarter turn, the {side} one with the {tool*}.
See that {stuff*} never touches the {rare*}.
Before {towns} delivered the new {rare*}, {many} units came with {cause*}.
The {comp} may be {quantity} out of line before it {fault*}.
Set the {rare*} {adverb*} against the {material*} {thing*} and {verb*} the {comp}.
{material*} on the {thing*} turns {colour} {when*}.
A {colour} {thing*} {place} belongs to the {adjective*} {rare*}, a {colour} one to the {comp}.
The {adjective*} {thing*} {place} can be {done*} {adverb*}.
What sounds like the {comp} is often the {adjective*} {thing*}: {verb*} it {adverb*}.
The first lots of {month} {year} were {done*} with {material*}, later ones with {material*}.
In {month} {towns} found {adjective*} {rare*}s among {n}{d} units.
Expect {n} minutes for this with a {tool*}, {n} without.
The drawing shows the {rare*} {adverb*} {done*}; on the machine it is {adjective*}.
{who} had {done*} the {thing*} {adverb*}, which helps nothing.
Between {quantity} and {quantity} the {comp} is sound.
Feel {adverb*} along the {material*} {thing*}: {adjective*} means {cause*}.
It is {adjective*} by nature and need not be {done*}.
The {comp} has been {done*} since {month} {year}; its {rare*} is {colour}.
A {adjective*} noise {when*} comes from the {rare*}, a {adjective*} one from the {comp}.
{n}{d} of {n}{d}{d} {comp} claims were {cause*}.
Programme {d} with {quantity} brings it out {adverb*}; {verb*} the {adjective*} {thing*} meanwhile.
With {material*} floors the {thing*} has to be {done*} {quantity} lower.
The plug of the {comp} is {colour} and {adjective*}; hold it by the {rare*}.
{material*} does not stand {stuff*}: it goes {adjective*} within a month.
Never leave {tool*} or {stuff*} {place}.
For {towns} and {towns} the {rare*} is {colour}, elsewhere {colour}.
Pull {adverb*} at the {colour} wire: if it is {adjective*}, the {thing*} was not {done*}.
That costs {n} minutes and saves a {comp}.
{quantity} at the {colour} wire, {quantity} at the {colour} one, both {when*}.
Start at the {thing*}, end at the {rare*}; skip what is {done*} already.
Nobody has {done*} a {comp} for this {adverb*} since {year}.
Mind the {adjective*} edge of the {material*} {thing*}.
Two persons: one holds the {adjective*} {thing*}, the other turns the {rare*} {adverb*}.
Why it {fault*} {when*}: the {material*} of the {rare*} shrinks by {quantity}.
The {adjective*} {rare*} was {done*} in {month} {year} at {towns}.
{adverb*} {done*}, a {rare*} of {material*} lasts {n} years.
The display counts to {n}{d} and then {fault*}.
By the {n}th visit {who} had {done*} {comp}, {rare*} and {rare*}; it was {cause*}.
See whether the {thing*} is {done*}, {adjective*} or {adjective*}.
Half a turn {adverb*} is enough for the {material*} {thing*}.
Where {material*} meets {material*}, {stuff*} must lie between them.
A spare {rare*} and {stuff*} lie in the bag of the {comp}.
Hold the {tool*} {adverb*}, not {adjective*}, or the {thing*} gives way.
The {comp} of a {adjective*} unit is {done*} {place}; from {year} it is {done*} {place}.
"""

SYMPTOMS = """
{comp} {fault*}
{fault*} {when*}
{noise*} {when*}
{noise*} {place}
{comp} {noise*}
water {place}
smell {when*}
{comp} {fault*} {when*}
light {place} {fault*}
{thing*} {place} is hot
{noise*} and {fault*}
"""

TITLES = """
{Comp} {fault*} {when*}
{Comp} {noise*} {when*}: {cause*}
New {rare*} for the {comp}
{Comp}: {verb*} the {rare*} first
{cause*} {place}, {comp} {fault*}
{Comp} {noise*}, nothing is wrong
{Comp} and {thing*} from {towns}
{fault*} {when*}: {comp} or {rare*}?
How to {verb*} the {comp} without the {tool*}
"""

_HEADS = (
    "air anti back base bi blow bottom by cable centre counter cross dip door down drip dry dual "
    "edge end fan feed fill flap flow foot free front fuel gas grease heat high hot inter jet key "
    "lamp lift link lint load lock low mid mixing multi oil out over pan pilot pipe post power pre "
    "pressure pump push quick rail rear relay rim salt seal self semi side soft spin splash spray "
    "steam sub sump thermo tilt top twin under valve vent water wide wire"
)
_TAILS = (
    "arm band bar base bead block board bolt box brace bracket cage cap card case catch clip coil "
    "cone core cover cup damper disc drum face fin fold fork frame gate gauge grip guard guide "
    "head holder hook insert joint key lever line liner lip mat nest pad pan piece pin pipe plate "
    "plug port post rack rail rest ring rod seat set shell shield shoe skirt sleeve slide spring "
    "stay stem stop strap strip stud switch tab tank tube vane wall washer web well wheel wing"
)
_TOWN_HEADS = "Ald Bram Cold Dun Ed Fal Gar Har Ing Kel Lang Mar Nor Ot Pen Ren Sal Thorn Ul Wel"
_TOWN_TAILS = "bury beck by den field ford gate ham hope ley mere rigg stead ton well wick"


def compounds() -> list[str]:
    """Return the rare words, thousands of compound nouns of the trade, the nearer ones first."""
    heads, tails = _HEADS.split(), _TAILS.split()
    pairs = [
        (heads[i] + tails[j], i * 131 + j * 37)
        for i in range(len(heads))
        for j in range(len(tails))
    ]
    return [word for word, _ in sorted(pairs, key=lambda pair: pair[1] * 2654435761 % 2**32)]


def towns() -> list[str]:
    """Return invented names of places where parts come from."""
    return [head + tail for tail in _TOWN_TAILS.split() for head in _TOWN_HEADS.split()]
