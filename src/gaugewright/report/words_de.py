"""Alle Wörter beider Seiten auf Deutsch: dieselben Namen wie in `words_en`.

Every word on both pages in German.  Sentences are short, in the polite form, in the trade's words.
A quantity within a sentence comes with its article, see THE_QUANTITY.
"""

from __future__ import annotations

HANDOVER = "Übergabeblatt"
RECORD = "Arbeitsprotokoll"
OPEN_QUOTE, CLOSE_QUOTE = "\u201e", "\u201c"
DASH = "\u2013"
DECIMAL = ","
AND = " und "
DATE = "{day}.\u00a0{month} {year}"
UNIT = {"degC": "\u00b0C", "rpm": "1/min"}
UNIT_OF_AIR = "kurbelgehäuse|saugrohr|ölwanne|entlüft|frischluft|unterdruck|vakuum"
TO = "bis"
CONTINUED = "weiter im Arbeitsprotokoll"
PAGE_OF = "Seite {page} von {pages}"
PRINTED_ON = "gedruckt am {date}"
MADE_WITH = "gaugewright"
DETAILS = (
    "Alle Messwerte, Grenzwerte und Prüfungen: siehe das Arbeitsprotokoll mit demselben Datum."
)

MONTHS = (
    "Januar",
    "Februar",
    "März",
    "April",
    "Mai",
    "Juni",
    "Juli",
    "August",
    "September",
    "Oktober",
    "November",
    "Dezember",
)

QUANTITY = {
    "oil-pressure": "Öldruck",
    "crankcase-pressure": "Kurbelgehäusedruck",
    "manifold-pressure": "Saugrohrdruck",
    "cylinder-pressure": "Zylinderdruck",
    "exhaust-pressure": "Abgasgegendruck",
    "fuel-pressure": "Kraftstoffdruck",
    "coolant-pressure": "Kühlsystemdruck",
    "ignition": "Zündung",
    "crank": "Kurbelwellenrad",
    "cam": "Nockenwellenrad",
    "engine-speed": "Motordrehzahl",
    "oil-temperature": "Öltemperatur",
    "coolant-temperature": "Kühlmitteltemperatur",
    "air-flow": "Luftmasse",
    "fuel-trim-short": "Gemischkorrektur, kurz",
    "fuel-trim-long": "Gemischkorrektur, lang",
    "battery-voltage": "Batteriespannung",
    "starter-current": "Anlasserstrom",
}
THE_QUANTITY = {
    "oil-pressure": "der Öldruck",
    "crankcase-pressure": "der Kurbelgehäusedruck",
    "manifold-pressure": "der Saugrohrdruck",
    "cylinder-pressure": "der Zylinderdruck",
    "exhaust-pressure": "der Abgasgegendruck",
    "fuel-pressure": "der Kraftstoffdruck",
    "coolant-pressure": "der Kühlsystemdruck",
    "ignition": "die Zündung",
    "crank": "das Kurbelwellenrad",
    "cam": "das Nockenwellenrad",
    "engine-speed": "die Motordrehzahl",
    "oil-temperature": "die Öltemperatur",
    "coolant-temperature": "die Kühlmitteltemperatur",
    "air-flow": "die Luftmasse",
    "fuel-trim-short": "die kurze Gemischkorrektur",
    "fuel-trim-long": "die lange Gemischkorrektur",
    "battery-voltage": "die Batteriespannung",
    "starter-current": "der Anlasserstrom",
}
NOUNS_LARGE = True
LANE = {
    **QUANTITY,
    "crankcase-pressure": "Kurbelgehäuse",
    "coolant-pressure": "Kühlsystem",
    "coolant-temperature": "Kühlmittel",
    "fuel-trim-short": "Korrektur, kurz",
    "fuel-trim-long": "Korrektur, lang",
    "battery-voltage": "Batterie",
}
SEAMS = {
    "Kurbelgehäuseentlüftung": "Kurbelgehäuse\u00adentlüftung",
    "Kurbelgehäusedruck": "Kurbelgehäuse\u00addruck",
    "Standardunsicherheit": "Standard\u00adunsicherheit",
    "Kühlmitteltemperatur": "Kühlmittel\u00adtemperatur",
    "Entlüftungsschlauch": "Entlüftungs\u00adschlauch",
    "Peilstabrohr": "Peilstab\u00adrohr",
    "Überdruckventil": "Überdruck\u00adventil",
    "Gemischkorrektur": "Gemisch\u00adkorrektur",
    "Öleinfülldeckel": "Öleinfüll\u00addeckel",
    "zusammengefasst": "zusammen\u00adgefasst",
}
PREDICTED_QUANTITY = {"fuel-trim": "Gemischkorrektur, kurz und lang"}
REFERENCE = {
    "atmosphere": "am Manometer",
    "crankcase": "an den Lagern",
    "vacuum": "absolut",
    "sealed": "gegen seine geschlossene Kammer",
}
REFERENCE_OF_CRANKCASE = {"atmosphere": "gegen die Außenluft", "vacuum": "absolut"}
SEEN_BY = {"gauge": "Manometer", "bearings": "Lager"}
DID = {
    "nothing": "",
    "vent-port-blocked": "Entlüftung verschlossen",
    "fresh-air-blocked": "Frischluft verschlossen",
    "regulator-port-blocked": "Bohrung des Reglers zugehalten",
    "filler-cap-off": "Öleinfülldeckel ab",
    "dipstick-tube-open": "Peilstabrohr offen",
    "ventilation-hose-off": "Entlüftungsschlauch ab",
    "speed-raised": "Drehzahl angehoben",
    "snap": "Gasstoß",
    "valve-commanded": "Ventil angesteuert",
    "engine-off": "Motor aus",
    "cranking": "Anlassen ohne Start",
    "oil-changed": "Öl gewechselt",
    "oil-topped-up": "Öl nachgefüllt",
    "level-corrected": "Ölstand berichtigt",
    "repaired": "repariert",
}
SAW = {
    "what": {
        "oil-level": "Ölstand",
        "oil-smell": "Geruch des Öls",
        "oil-foam": "Schaum im Öl",
        "lamp": "Öllampe",
        "noise": "Geräusch",
        "smoke": "Rauch",
        "began": "begann",
        "done-before": "kurz davor gemacht",
        "code": "Fehlercode",
    }
}
BOUND = {"at most": "höchstens", "at least": "mindestens"}
BOUND_BRIEF = {"at most": "max.", "at least": "min."}

# Urteile ------------------------------------------------------------------------------
VERDICT = {
    "meets": "erfüllt",
    "falls short": "zu niedrig",
    "exceeds": "zu hoch",
    "too close to call": "zu knapp",
    "not measured": "nicht gemessen",
}
UNMEASURED = "nicht gemessen"
PLATE_WIDTH = 138.0
AT_GAUGE, AT_BEARINGS = "am Manometer", "an den Lagern"
STATED_FOR_GAUGE = "der Hersteller nennt diesen Grenzwert für das Manometer"
SURE = {
    "very sure": "sehr sicher",
    "sure": "sicher",
}

# Die Seite des Halters: Überschrift ---------------------------------------------------
HEAD_NOTHING = "Noch konnte nichts gemessen werden."
HEAD_NO_LIMIT = "{quantity} wurde gemessen. Es gab keinen Grenzwert dafür."
HEAD_UNMEASURED = "{quantity} konnte noch nicht beurteilt werden."
HEAD_SHORT = "{quantity} liegt unter dem Grenzwert des Herstellers."
HEAD_SHORT_GAUGE = "{quantity} am Manometer liegt unter dem Grenzwert des Herstellers."
HEAD_EXCEEDS = "{quantity} ist höher, als der Hersteller erlaubt."
HEAD_OPEN = "{quantity} liegt zu nah am Grenzwert für ein Urteil."
HEAD_BEARINGS_SHORT = "Am Manometer reicht {quantity}, aber die Lager bekommen zu wenig."
HEAD_BEARINGS_EXCEED = (
    "Das Manometer hält den Grenzwert ein, aber die Lager bekommen mehr, als er erlaubt."
)
HEAD_BEARINGS_OPEN = "Das Manometer hält den Grenzwert ein; für die Lager ist es zu knapp."
HEAD_NOW_MEETS = (
    "{quantity} lag außerhalb des Grenzwerts des Herstellers.\nJetzt ist er eingehalten."
)
HEAD_BEARINGS_NOW = "{quantity} an den Lagern war zu niedrig.\nJetzt reicht er."
HEAD_MEETS = "{quantity} hält den Grenzwert des Herstellers ein."
HEAD_LAMP = "{quantity} hält den Grenzwert des Herstellers ein, doch die Öllampe geht an."
HEAD_DISAGREE = "Zwei Messgeräte widersprechen sich: {quantity} bleibt ohne Urteil."

# Die Seite des Halters: was unter der Überschrift steht -------------------------------
SAY_FIRST = "{when}Das Manometer zeigte {gauge}{asked}."
SAY_ONLY_VALUE = "{when}{quantity} betrug {gauge}{asked}."
SAY_AT_SPEED = " bei {speed}"
SAY_ASKED = "; der Hersteller verlangt {limit}"
SAY_LIFTED = (
    "Überdruck im Kurbelgehäuse hob die Anzeige um {effect} an: die Lager bekamen {bearings}."
)
SAY_PULLED = (
    "Unterdruck im Kurbelgehäuse zog die Anzeige um {effect} herunter: die Lager bekamen "
    "{bearings}."
)
SAY_BEARINGS = "Die Lager bekamen {bearings}."
SAY_BETWEEN = "{when}Das Manometer zeigte {gauge}, die Lager bekamen {bearings}."
SAY_BETWEEN_GAUGE = "{when}Das Manometer zeigte {gauge}."
SAY_BETWEEN_VALUE = "{when}gemessen: {gauge}."
SAY_GAUGE_RULES = (
    "Der Hersteller nennt diesen Grenzwert für das Manometer; was die Lager bekommen, wiegt das "
    "nicht auf."
)
SAY_SETTLE = (
    "Der Messwert liegt näher am Grenzwert, als er genau ist; eine weitere Prüfung würde es klären."
)
SAY_UNMEASURED = (
    "Bei der Drehzahl und der Öltemperatur, für die der Hersteller den Grenzwert nennt, wurde "
    "nicht gemessen."
)
SAY_NOTHING = (
    "Aus den Aufzeichnungen ließ sich kein Messwert gewinnen. Warum, steht im Arbeitsprotokoll."
)
SAY_DISAGREE = "Vor jedem Urteil müssen die beiden Messgeräte mit einem dritten verglichen werden."
WHEN_FIRST = "Beim ersten Besuch: "
WHEN_AFTER_WORK = "Nach \u201e{work}\u201c: "
WHEN_ON = "Am {date}: "
WHEN_STATE = "Danach ({did}): "
WHEN_AT = "{visit}: "
OR_MORE, OR_LESS, BETWEEN = "mindestens {low}", "höchstens {high}", "{low} bis {high}"
HELD_AT = "bei {state}"

# Die Seite des Halters: Überschriften und feste Sätze ---------------------------------
TOLD_US = "Was Sie uns gesagt haben"
MEASURED = "Was wir gemessen haben: {quantity}"
MEASURED_AT = "Was wir gemessen haben: {quantity}, {limit}"
MAKER_ASKS = "der Hersteller verlangt {limit}"
GAUGE_SHOWED, GAUGE_SHOWS = "Manometer zeigte", "Manometer zeigt"
BEARINGS_GOT, BEARINGS_GET = "Lager bekamen", "Lager bekommen"
READ_WAS, READ_IS = "es waren", "es sind"
HOW_SURE = "Wie sicher:"
SURE_SAYS = "{sure}, {what}"
SURE_WHAT = {
    ("gauge", "meets"): "dass das Manometer den Grenzwert einhält",
    ("gauge", "falls short"): "dass das Manometer unter dem Grenzwert liegt",
    ("gauge", "exceeds"): "dass das Manometer über dem Grenzwert liegt",
    ("bearings", "meets"): "dass die Lager genug bekommen",
    ("bearings", "falls short"): "dass die Lager zu wenig bekommen",
    ("bearings", "exceeds"): "dass die Lager mehr bekommen, als der Grenzwert erlaubt",
    ("value", "meets"): "dass der Grenzwert eingehalten ist",
    ("value", "falls short"): "dass der Grenzwert unterschritten ist",
    ("value", "exceeds"): "dass der Grenzwert überschritten ist",
}
SURE_EXPLAINS = " (das erklärt, es spricht nicht frei)"
ENOUGH_NO_PASS = "hier genug, doch nicht bestanden"
SURE_OPEN = {
    "gauge": "zu knapp am Manometer",
    "bearings": "zu knapp an den Lagern",
    "value": "zu knapp",
}
SURE_NONE = "kein Urteil, siehe das Arbeitsprotokoll"
NOTE_GAUGE = "Das Manometer misst gegen die Außenluft; die Lager spüren das Kurbelgehäuse."
NOTE_BEARINGS = (
    "Für die Lager ist dies eine Erklärung: Der Hersteller nennt diesen Grenzwert für das "
    "Manometer."
)
NOTE_SPINDLE = "Jede Form ist so lang wie der Zweifel, der an ihrem Wert bleibt."
NOTE_ONE_SIDED = (
    "Ein Pfeil steht für einen Messwert, der nur nach einer Seite bekannt ist: Das Messgerät war "
    "am Anschlag."
)
NOTE_KPA = {"kPa": "100\u00a0kPa sind 1\u00a0bar.", "psi": "", "bar": ""}
NOTE_OTHER_WALL = "Das andere Ende des Grenzwerts, {other}, liegt außerhalb dieses Bildes."
NOTE_STATE_LEFT = "Ein Besuch dazwischen steht im Arbeitsprotokoll."
NOTE_STATES_LEFT = "{count} Besuche dazwischen stehen im Arbeitsprotokoll."
OTHER_LIMITS = "Andere Grenzwerte"
DONE = "Was getan wurde"
NOTHING_DONE = "Keine Arbeit ist notiert."
ADVISED = "Was wir raten"
NOTHING_ADVISED = "Kein Rat ist notiert."
ADVISE_REPAIR = "Den Grund suchen und beheben; dann auf dieselbe Weise nachmessen."
ADVISE_TEST = "Eine weitere Prüfung, um zu klären, was zu knapp ist."
ADVISED_ON = "geraten am {date}"
STATE_OF_WORK = {
    "agreed": "vereinbart",
    "declined": "vom Halter abgelehnt",
    "done": "getan",
    "advised": "geraten",
}
NOT_TESTED = "Was nicht geprüft wurde"
NOT_MEASURED = "Nicht gemessen: {quantities}."
NOT_THE_BEARINGS = (
    "Was die Lager bekommen, ist nicht bekannt: Der Druck im Kurbelgehäuse wurde nicht mitgemessen."
)
NOT_THE_TEMPERATURE = "Die Öltemperatur wurde nicht gemessen."
NOT_THE_SPEED = "Die Motordrehzahl wurde nicht gemessen."
NOT_THE_LIMIT = "Nicht beurteilt, weil der Motor nicht in diesem Zustand gehalten wurde: {limits}."
NOT_WITHOUT_LIMITS = "Es lag kein Grenzwert des Herstellers vor; daher wurde nichts beurteilt."
NOT_CAUSES = "Die möglichen Ursachen wurden nicht gegeneinander abgewogen; hier wird keine genannt."
NOT_THE_LAMP = "Ob die Öllampe noch angeht, wurde beim letzten Besuch nicht notiert."
NOT_HAND = "Es gibt keine Aufzeichnung; die Werte wurden von Hand abgelesen."
NOT_AGAIN = "Seit der letzten Arbeit nicht nachgemessen: {limits}."
WATCH = "Bitte beachten Sie"
STOP_BOLD = "Stellen Sie den Motor ab,"
STOP_REST = (
    " wenn die Öllampe während der Fahrt angeht oder der Motor klopft. Fahren Sie nicht weiter; "
    "rufen Sie uns an."
)
FAILS_BOLD = "Lassen Sie das beheben, bevor der Wagen gefahren wird:"
FAILS_REST = {
    "gauge": " {quantity} am Manometer liegt außerhalb des Grenzwerts des Herstellers.",
    "bearings": " die Lager liegen außerhalb dessen, was der Grenzwert ihnen lässt.",
    "value": " {quantity} liegt außerhalb des Grenzwerts des Herstellers.",
}
OPEN_BOLD = "Nicht entschieden:"
OPEN_REST = " Lassen Sie die weitere Prüfung machen, bevor Sie sich auf diesen Motor verlassen."
LAMP_BOLD = "Die Öllampe war an:"
LAMP_REST = " Fahren Sie nicht, bevor der Grund gefunden ist."
CONSENT = "Ich stimme der geratenen Arbeit zu:"
CONSENT_YES, CONSENT_NO = "ja", "nein"
CONSENT_PART = "nur dies:"
SIGN_WORKSHOP = "erklärt und übergeben: Datum, Werkstatt"
SIGN_OWNER = "erhalten und mir erklärt: Datum, Halter"

CAUSE = {
    "oil-level-low": "Ölstand zu niedrig",
    "oil-aerated": "Luft im Öl",
    "oil-thin": "Öl zu dünn",
    "fuel-in-oil": "Kraftstoff im Öl",
    "pickup-restricted": "Ölsieb verengt",
    "pickup-sucks-air": "Ölansaugung zieht Luft",
    "filter-restricted": "Ölfilter verengt",
    "relief-valve-open": "Überdruckventil bleibt offen",
    "relief-valve-shut": "Überdruckventil bleibt zu",
    "worn-pump": "Ölpumpe verschlissen",
    "pump-control-stuck": "Regelung der Ölpumpe hängt",
    "worn-bearings": "Lager verschlissen",
    "internal-leak": "Leck im Motor",
    "indication-fault": "Fehler in der Anzeige",
    "ventilation-regulator-torn": "Membran der Kurbelgehäuseentlüftung gerissen",
    "breather-blocked": "Kurbelgehäuseentlüftung verstopft",
    "crankcase-open": "Kurbelgehäuse zur Außenluft offen",
    "intake-leak": "Leck im Ansaugtrakt",
    "worn-rings": "Kolbenringe verschlissen",
    "test-fault": "Fehler in der Messung selbst",
    "nothing-wrong": "in diesen Messwerten nichts gefunden",
    "none-of-these": "keine der Ursachen auf der Liste",
}

# Ursachen, Lecks und nächste Prüfungen ------------------------------------------------
CAUSES_HEAD = "Welche Ursache"
NOT_WEIGHED = "Die möglichen Ursachen wurden nicht abgewogen."
JUDGED = (
    "Die Prozente sind gerechnete und geschätzte Aussichten, nur an simulierten Motoren erprobt, "
    "bis ein Archiv abgeschlossener Aufträge sagt, wie oft sie zutrafen."
)
ADD_UP = (
    "Diese schließen einander aus und ergeben zusammen 100\u00a0%. In der Tabelle darüber zählt "
    "eine Ursache in jedem Paar, in dem sie vorkommt."
)
NO_PASS = (
    "Was hier auch am meisten wiegt: Ein verfehlter Grenzwert wird dadurch nicht bestanden, und "
    "eine Lampe, die angeht, nicht zum Fehlalarm. Der Hersteller nennt den Grenzwert für das "
    "Manometer."
)
BEFORE = "vorher: {percent}"
CAUSE_HEADS = ("Gewicht", "Ursache", "spricht am meisten dafür", "spricht am meisten dagegen")
NEARLY, HARDLY = "über 99", "unter 1"
LESS_THAN = "Je unter 1\u00a0%: {causes}."
SPEAKS_FOR, SPEAKS_AGAINST = "+", "\u2013"
NOTHING_SPEAKS = "nichts von Gewicht"
READ_AND_PREDICTED = "{reading}: {read} gemessen, {predicted} vorhergesagt"
TOLD = "{what}: {saw}"
ODDS_UP, ODDS_DOWN = "Chance\u00a0\u00d7\u00a0{times}", "Chance\u00a0\u00f7\u00a0{times}"
ODDS_UNMOVED = "Chance unverändert"
MOST_TIMES = "über\u00a01000"
SEVERITY = "wenn ja, {text}"
PAIRS_HEAD = "Ein Fehler oder zwei"
PAIR_HEADS = ("Gewicht", "zusammen")
LINK = {
    "single": "{first}, allein",
    "consequence": "{first}, und als Folge davon: {second}",
    "unrelated": "{first} und, unabhängig davon: {second}",
}
OTHER_PAIRS = "alle anderen zusammen"
PREDICTED_HEAD = "Was gemessen wurde, und was jede führende Ursache vorhersagt"
PREDICTED_NOTE = (
    "Jede Vorhersage ist aus allen übrigen Messwerten gemacht. Intervalle von 95\u00a0%. Hohl: "
    "gegen die Außenluft; gefüllt: an den Lagern. Das blasse Band ist der Messwert, über die "
    "Vorhersagen nach unten gezogen."
)
PREDICTED_TABLE_NOTE = (
    "Chance: wie dieser Messwert allein diese Ursache gegen alle anderen verschiebt. Darüber, "
    "darunter: wie der Messwert zur Vorhersage liegt; u: die Standardunsicherheit beider zusammen."
)
LOUDEST = "Gezeichnet sind die {count} Messwerte, die am meisten sagen; die Tabelle enthält alle."
READ, PREDICTED = "gemessen", "vorhergesagt"
PREDICTED_HEADS = ("Messwert", "gemessen")
MOST_FOR, MOST_AGAINST = "am meisten dafür", "am meisten dagegen"
PULL_UP, PULL_DOWN = "{times}\u00a0u\u00a0darüber", "{times}\u00a0u\u00a0darunter"
ENDS = "{low} bis {high}"
LEAKS_HEAD = "Wie groß das Leck ist"
LEAK_HEADS = (
    "von, nach",
    "Durchmesser",
    "95-%-Intervall",
    "Durchflusszahl",
    "aus Messwerten in",
)
LEAKS_NOTE = (
    "Das runde, scharfkantige Loch, durch das bei dieser Durchflusszahl dieselbe Luft ginge; das "
    "wirkliche hat seine eigene Form."
)
TESTS_HEAD = "Nächste Prüfungen"
TEST_TITLE = "{minutes}\u00a0min: {test}"
TESTS_NOTE = (
    "Voran die Prüfung, mit der die Ursache am schnellsten feststeht. Ein Bit halbiert, was offen "
    "ist, im Mittel über ihre Ergebnisse."
)
TEST_TELLS = "Sagt {bits}"
BITS = "{bits}\u00a0bit"
TEST_SAVES = "erspart {minutes}\u00a0min Arbeit an einem falschen Urteil"
TEST_EFFORT = "Aufwand: {effort}"
EFFORT = {"none": "keiner", "small": "klein", "some": "mittel", "great": "groß"}
OUTCOME_HEADS = ("was man sähe", "Aussicht", "es bliebe")
LATER_TESTS = "Danach: {tests}."
LATER_TEST = "{test}, {minutes}\u00a0min"
NOT_WHEN = "Nicht machen:"
MIND = "Achtung:"
NO_TEST = "Eine nächste Prüfung wurde nicht ausgerechnet."
TERMINAL_CAUSES = (
    "Gewicht",
    "Ursache",
    "wenn ja",
    "spricht am meisten dafür",
    "spricht am meisten dagegen",
)
TERMINAL_TESTS = ("Zeit", "Prüfung", "sagt", "was man sähe, und was es ließe")
TERMINAL_OUTCOME = "{saw} ({chance})"
TERMINAL_LEAVES = "{outcome}: {leaves}"

# Was der Halter davon liest -----------------------------------------------------------
OWNER_CAUSES = "Was dahinterstecken kann"
OWNER_CAUSES_WERE = "Was dahintergesteckt haben kann"
OWNER_WORD = {
    "likely": "Wahrscheinlich:",
    "possible": "Möglich:",
    "not excluded": "Nicht auszuschließen:",
}
OWNER_UNKNOWN = "etwas, das diese Messwerte nicht abwägen können"
OWNER_TWO = "Zwei Dinge können zusammengekommen sein: {pair}."
OWNER_MORE = "und andere, siehe das Arbeitsprotokoll"
OWNER_UNEXPLAINED = (
    "Diese Messwerte allein zeigen den Grund nicht. Das wiegt nicht auf, was außerhalb seines "
    "Grenzwerts liegt, und auch keine Lampe, die angeht."
)
OWNER_NOT_SHOWN = (
    "Dass die Anzeige oder die Messung falsch ist, ist noch nicht gezeigt: Bis eine Prüfung es "
    "zeigt, nehmen Sie die Warnung ernst."
)
OWNER_QUIET = "Nichts in diesen Messwerten weist auf eine Ursache."
OWNER_NEXT = "Nächster Schritt:"
OWNER_MINUTES = "etwa {minutes} Minuten"
OWNER_POINTS = "Je nach Ergebnis spräche das für: {causes}."
OWNER_TELLS = "Das würde sagen, ob dies daran beteiligt ist: {cause}."
OR = "; oder "
OWNER_POINT = "{cause} ({chance})"
OWNER_STOP = "Keine weitere Prüfung, die wir kennen, wäre ihre Zeit wert."
CHANCE_WORDS = (
    (0.66, "wahrscheinlich"),
    (0.33, "so wahrscheinlich wie nicht"),
    (0.1, "unwahrscheinlich"),
    (0.0, "sehr unwahrscheinlich"),
)

# Das Arbeitsprotokoll -----------------------------------------------------------------
FACT = {
    "vehicle": "Wagen",
    "engine": "Motor",
    "oil": "Öl",
    "place": "Ort",
    "codes": "Fehlercodes",
    "read": "Kilometerstand",
    "job": "Auftrag",
    "units": "Einheiten dieser Seiten",
}
ENGINE = "{cylinders} Zylinder, {cycle}"
UNITS = "{pressure}; Kurbelgehäuse und Saugrohr {vacuum}"
NO_CODES = "keine notiert"
INHG_IS = "1 inHg sind 3386,389 Pa (festgelegt)"
COMPLAINT = "Beanstandung, in den Worten des Halters"
VISITS = "Besuche"
VISIT_HEADS = ("Besuch", "Datum", "Kilometer", "Öl", "seit dem Besuch davor getan")
SEEN = "Gesehen, gerochen, gehört, geprüft"
SEEN_HEADS = ("Besuch", "was", "gesehen", "Notiz")
WORK = "Arbeit"
WORK_HEADS = ("Besuch", "Arbeit", "Stand")
INSTRUMENTS = "Messmittel und Kalibrierung"
INSTRUMENT_HEADS = ("Messmittel", "misst gegen", "Kalibrierung", "Messunsicherheit", "Nullpunkt")
RECORDINGS = "Aufzeichnungen"
RECORDING = "Aufzeichnung \u201e{name}\u201c, {visit}, {seconds} s"
LEFT_OUT = (
    "weggelassen: Der Motor beruhigte sich noch, oder die Abtastwerte sind nicht zu gebrauchen"
)
PALE = "blass: zwischen den Zuständen, nicht benutzt"
SECONDS = "Sekunden"
READINGS = "Messwerte (95-%-Intervalle)"
READINGS_NOTE = (
    "\u00b1 ist die halbe Breite des 95-%-Intervalls: Es zählt die Streuung ganzer Arbeitsspiele, "
    "den Sensor und seinen Nullpunkt. An den Lagern: Manometer weniger Kurbelgehäuse."
)
CYCLES = "Arbeitsspiele, Verhalten"
NO_READINGS = "Es ließ sich kein Messwert gewinnen; die Warnungen sagen, warum."
BEHAVIOUR = {"steady": "ruhig", "drifting": "wandert", "hunting": "pendelt"}
BY_HAND = "von Hand"
LIMITS = "Grenzwerte"
LIMIT_HEADS = (
    "Grenzwert, Quelle",
    "gesehen von",
    "Zustand",
    "Wert im Zustand des Grenzwerts",
    "Schutz\u00adabstand",
    "Aussicht auf Ein\u00adhal\u00adtung",
    "Urteil",
)
LIMITS_NOTE = (
    "Die Prüfung am Manometer ist die des Herstellers. Die Prüfung an den Lagern darunter erklärt "
    "und macht nie daraus ein Bestanden: Der Hersteller nennt diesen Grenzwert für das Manometer."
)
PRINTED = "gedruckt \u201e{text}\u201c"
NO_LIMITS = "Es lag kein Grenzwert vor: Nichts wurde beurteilt."
OVER, UNDER = "über 99,9 %", "unter 0,1 %"
MATCHES = "Abgleiche: auf eine Drehzahl gebracht"
MATCHES_WITHIN = "innerhalb eines Besuchs: prüft den Motor"
MATCHES_ACROSS = "zwischen Besuchen: zeigt die Reparatur"
MATCH_FROM_TO = "von, nach"
MATCHES_ABSOLUTE = (
    "Ein Unterschied absoluter Drücke ist bis auf den Luftdruck derselbe und bleibt der "
    "Ergebnisdatei überlassen, wo hier der gegen die Außenluft steht."
)
EXTRAPOLATED = "hochgerechnet"
CHECKS = "Folgt das Manometer dem Kurbelgehäuse?"
CHECK_VERDICT = {
    "follows the crankcase": (
        "folgt dem Kurbelgehäuse: zwischen diesen Zuständen merkten die Lager keine Änderung"
    ),
    "real loss as well": (
        "auch ein echter Verlust: das Manometer fiel um mehr, als das Kurbelgehäuse hergab"
    ),
    "does not follow the crankcase": "folgt dem Kurbelgehäuse nicht",
    "undecided": "ob das Manometer dem Kurbelgehäuse folgt, ist unentschieden",
}
CHECK_VERDICT_SHORT = {
    "follows the crankcase": "folgt dem Kurbelgehäuse",
    "real loss as well": "auch ein echter Verlust",
    "does not follow the crankcase": "folgt dem Kurbelgehäuse nicht",
    "undecided": "unentschieden",
}
CHECK_EXPLAINS = {
    "all of it": (
        "Das Kurbelgehäuse erklärt den ganzen Fehlbetrag; der Grenzwert gilt dem Manometer."
    ),
    "part of it": "Das Kurbelgehäuse erklärt einen Teil des Fehlbetrags.",
    "nothing": "Das Kurbelgehäuse erklärt nichts von einem Fehlbetrag.",
    "undecided": "Wie viel von einem Fehlbetrag das Kurbelgehäuse erklärt, ist unentschieden.",
}
CHECK_EFFECT = "Der Druck des Kurbelgehäuses selbst, wie vorgefunden: {effect}."
SLOPE = "Steigung "
SLOPE_ONE = ("1", "alles vom Kurbelgehäuse")
SLOPE_NONE = ("0", "nichts vom Kurbelgehäuse")
SLOPE_X = "Kurbelgehäusedruck, {unit}"
SLOPE_Y = "Öldruck am Manometer, {unit}"
SWITCHES = "Würde die Lampe leuchten?"
EXPLAINS_LAMP = {"yes": "ja", "no": "nein", "cannot say": "nicht zu sagen"}
SWITCH_HEADS = ("Schalter", "Besuch", "Zustände", "Anteil der Zeit an", "erklärt die Lampe")
WARNINGS = "Warnungen"
WARNING_HEADS = ("wo", "was")
NO_WARNINGS = "Keine."
FILES = "Dateien"
FILE_HEADS = ("Aufzeichnung, Datei", "Zeilen, Rate", "angenommen", "gezählt")
METHOD = "Verfahren"
METHOD_SAYS = "Ergebnisformat {format}."
NONE_COUNTED = "nichts fehlt, ist abgeschnitten oder wiederholt"
NONE_GUESSED = "nichts"
NO_RECORDING = "Es gibt keine Aufzeichnung; alle Werte wurden von Hand abgelesen."

FLAG = {
    "several-stretches": "aus mehreren Abschnitten",
    "instruments-combined": "Messgeräte zusammengefasst",
    "by-hand": "von Hand",
    "no-interval": "kein Intervall bekannt",
    "uncertainty-unstated": "Unsicherheit nicht angegeben, 1 % des Bereichs angenommen",
    "oil-temperature-from-coolant": "Öltemperatur vom Kühlmittel übernommen",
    "oil-temperature-from-neighbour": "Öltemperatur aus einem Abschnitt in der Nähe",
    "speed-unknown": "Drehzahl unbekannt",
    "speed-from-ripple": "Drehzahl aus der Welligkeit des Drucks",
    "near-relief-ceiling": "nahe am Öffnungsdruck des Überdruckventils",
    "pressure-held-by-a-computer": "ein Steuergerät hält den Druck",
    "crankcase-hardly-moved": "das Kurbelgehäuse bewegte sich kaum",
    "crankcase-unmoved": "das Kurbelgehäuse bewegte sich nicht",
    "crankcase-not-measured": "Kurbelgehäuse nicht gemessen",
    "crankcase-of-a-sound-engine-unknown": (
        "Kurbelgehäusedruck eines gesunden Motors nicht angegeben"
    ),
    "one-condition-only": "nur ein Zustand",
    "barometer-unknown": "Luftdruck unbekannt",
    "missing-samples": "Abtastwerte fehlen",
    "drop-outs": "Aussetzer",
    "cycles-left-out": "Arbeitsspiele weggelassen",
    "pump-stage-between": "zwischen den Stufen der Pumpe",
    "instruments-disagree": "die Messgeräte widersprechen sich",
    "calibration-unstated": "Kalibrierung nicht angegeben, 1 % des Bereichs angenommen",
    "zero-at-stop": "Nullpunkt nicht benutzt: er liegt vielleicht am Anschlag",
    "oil-temperature-unknown": "Öltemperatur unbekannt",
    "few-cycles": "wenige Arbeitsspiele",
    "out-of-range": "außerhalb des Sensorbereichs",
    "at-stop": "am Anschlag",
    "interference": "Störungen",
    "speed-by-hand": "Drehzahl von Hand",
    "speed-of-other-recording": "Drehzahl aus einer anderen Aufzeichnung",
    "calibration-lack-of-fit": "Punkte streuen weiter als angegeben",
}
CAUTION = "Achtung"
