"""Every bad job gets its sentence: file, place, what was found, what would do."""

import re

import pytest
from job_sample import FULL, SMALL, lay, sentences, spoiled

POINTS = 'points = [["0.5 V", "0 bar"], ["4.5 V", "10 bar"]]'
OIL = 'sensor "oil transducer"'
HOT = 'recording "hot idle"'
LIMIT = 'limit "hot idle"'
NUMBER = "write a number and its unit, such as"

CASES = [
    # keys
    (
        'min = "0.9 bar"',
        'minimum = "0.9 bar"',
        f'{LIMIT}, minimum: found the key "minimum", which is not known; write "min"',
    ),
    (
        'time_unit = "s"',
        'blorp = "s"',
        f'{HOT}, blorp: found the key "blorp", which is not known; use one of its keys: '
        "name, file, visit, time, rate, time_unit, clock_offset, aligned_with, aligned_by, text, "
        "signal, condition",
    ),
    (
        "format = 1",
        "format = 2",
        "format: found format 2; write format = 1, the one this version reads",
    ),
    (
        "cylinders = 4\n",
        "",
        'vehicle: the key "cylinders" is missing; add cylinders = 4',
    ),
    (
        "cylinders = 4",
        'cylinders = "4"',
        'vehicle, cylinders: found "4"; write a whole number, without quotes',
    ),
    ("cylinders = 4", "cylinders = 0", "vehicle, cylinders: found 0; write at least 1"),
    (
        'cycle = "four-stroke"',
        'cycle = "wankel"',
        'vehicle, cycle: found "wankel", which is not a word for this key; write '
        '"four-stroke" or "two-stroke"',
    ),
    (
        'title = "Tick at hot idle"',
        'title = ""',
        "title: found an empty text; write something, or delete what needs no name",
    ),
    (
        "[vehicle]",
        "[[vehicle]]",
        "vehicle: found several tables where one belongs; write [vehicle]",
    ),
    (
        "[[instrument]]",
        "[instrument]",
        "instrument: found a single value where one table for each belongs; write "
        "[[instrument]] with double brackets",
    ),
    (
        "snubber = false",
        'snubber = "no"',
        f'{HOT}, signal 1, snubber: found "no"; write true or false, without quotes',
    ),
    (
        'hose = { length = "1 m", bore = "4 mm", holds = "air" }',
        'hose = "1 m"',
        f'{HOT}, signal 1, hose: found "1 m" where a table belongs; write hose = '
        '{ length = "1 m", bore = "4 mm", holds = "air" }',
    ),
    (
        "date = 2031-03-04T09:30:00",
        'date = "4 March"',
        'visit "first", date: found "4 March", which is no date; write a date such as '
        "2031-03-04 or a date and time such as 2031-03-04T09:30:00",
    ),
    # words
    (
        'quantity = "crankcase-pressure"\n  unit',
        'quantity = "crankase-pressure"\n  unit',
        'recording "second logger", signal 1, quantity: found "crankase-pressure", '
        'which is no quantity; write "crankcase-pressure"',
    ),
    (
        'did = ["filler-cap-off"]',
        'did = ["filler-cap-of"]',
        f'{HOT}, condition "cap off", did, item 1: found "filler-cap-of", which is no '
        'action; write "filler-cap-off"',
    ),
    (
        'did = ["filler-cap-off"]',
        'did = ["nothing", "snap"]',
        f'{HOT}, condition "cap off", did: found "nothing" together with an action; '
        "write the actions alone",
    ),
    (
        'what = "oil-level"',
        'what = "odour"',
        'observation 1, what: found "odour", which is no thing to observe; write '
        '"oil-level", "oil-smell", "oil-foam", "lamp", "noise", "began", "done-before" or "smoke"',
    ),
    (
        'saw = "below minimum"',
        'saw = "low"',
        'observation 1, saw: found "low", which is no word for "oil-level"; write '
        '"not on the dipstick", "below minimum", "at minimum", "between the marks", "at maximum", '
        '"above maximum", "rising" or "falling"',
    ),
    (
        'codes = ["P0171"]',
        'codes = ["P171"]',
        'complaint, codes: found "P171", which is no trouble code; write codes in the '
        'form of SAE J2012, such as "P0171"',
    ),
    (
        'oil_grade = "5W-30"\nfiring',
        'oil_grade = "5W-35"\nfiring',
        'vehicle, oil_grade: found "5W-35", which is no oil grade; write an SAE J300 '
        'grade, such as "5W-30" or "SAE 30", or leave the key out',
    ),
    # units
    (
        'min = "0.9 bar"',
        "min = 0.9",
        f'{LIMIT}, min: found 0.9, a value without its unit; {NUMBER} "2.0 bar"',
    ),
    (
        'min = "0.9 bar"',
        'min = "0.9"',
        f'{LIMIT}, min: found "0.9", a number without its unit; {NUMBER} "2.0 bar"',
    ),
    (
        'min = "0.9 bar"',
        'min = "80 degC"',
        f'{LIMIT}, min: found "80 degC", a temperature where a pressure is needed; '
        f'{NUMBER} "2.0 bar"',
    ),
    (
        'accuracy = "0.5 K"',
        'accuracy = "0.5 mbar"',
        'sensor "thermometer", accuracy: found "0.5 mbar", a pressure where a '
        f'temperature difference is needed; {NUMBER} "5 K"',
    ),
    (
        'supply = "4.90 V"',
        'supply = "4.90 bar"',
        f'{HOT}, signal 1, supply: found "4.90 bar", a pressure where a voltage is '
        f'needed; {NUMBER} "0.8 V"',
    ),
    (
        'unit = "mbar"',
        'unit = "rpm"',
        'recording "second logger", signal 1, unit: found "rpm", the unit of an engine '
        "speed, where a pressure is needed; write a pressure, in Pa, kPa, bar, mbar, psi, inHg, "
        "inH2O or mmHg",
    ),
    # sensors
    (
        POINTS,
        'points = [["0.5 V", "0 bar"]]',
        f"{OIL}, points: found one point; write two or more",
    ),
    (
        POINTS,
        'points = [["0.5 V", "0 bar"], ["4.5 V"]]',
        f'{OIL}, points, item 2: found ["4.5 V"], where two values belong; write two, ["…", "…"]',
    ),
    (
        POINTS,
        'points = [["0.5 V", "0 bar"], ["0.5 V", "0 bar"]]',
        f'{OIL}, points: point 2, ["0.5 V", "0 bar"], equals point 1; write two points that differ',
    ),
    (
        POINTS,
        'points = [["0.5 V", "0 bar"], ["0.5 V", "10 bar"]]',
        f'{OIL}, points: all points have the same output "0.5 V"; write points whose '
        "outputs differ",
    ),
    (
        POINTS,
        'points = [["0.5 V", "0 bar"], ["4.5 mA", "10 bar"]]',
        f'{OIL}, points: the first values are "0.5 V", a voltage, and "4.5 mA", a '
        "current; write the same unit in all points",
    ),
    (
        'reference = "sealed"\n',
        "",
        'sensor "sealed one", sealed_at: found "1013 mbar" for a sensor that is not '
        'sealed; delete it, or write reference = "sealed"',
    ),
    (
        'sealed_at = "1013 mbar"\n',
        "",
        'sensor "sealed one": the key "sealed_at" is missing; add sealed_at = "1013 mbar"',
    ),
    (
        'range = ["0 bar", "10 bar"]',
        'range = ["10 bar", "0 bar"]',
        f'{OIL}, range: found "10 bar" to "0 bar"; write the lower end first, then the higher',
    ),
    (
        'accuracy = "50 mbar"',
        'accuracy = "-50 mbar"',
        f'{OIL}, accuracy: found "-50 mbar"; write a value of zero or more',
    ),
    (
        'accuracy = "0.5 inHg"',
        'accuracy = "0.5 V"',
        'instrument "dial gauge", accuracy: found "0.5 V" for a range that begins at '
        '"-30 inHg"; write the accuracy as a pressure',
    ),
    # limits
    (
        'min = "0.9 bar"\nmax = "3.5 bar"\n',
        "",
        f"{LIMIT}: found neither min nor max; write one of them, or both",
    ),
    (
        'max = "3.5 bar"',
        'max = "0.5 bar"',
        f'{LIMIT}, min: min "0.9 bar" is above max "0.5 bar"; exchange them, or correct '
        "the unit of one",
    ),
    (
        "0.9 bar / 13 psi",
        "0.9 bar / 15 psi",
        f'{LIMIT}, printed: "0.9 bar" and "15 psi" disagree beyond rounding; look the '
        "limit up again and correct the wrong one",
    ),
    (
        "0.9 bar / 13 psi",
        "1.2 bar",
        f'{LIMIT}, printed: the printed "1.2 bar" and min "0.9 bar" disagree beyond '
        "rounding; look the limit up again and correct the wrong one",
    ),
    (
        'quantity = "oil-pressure"\nreference = "atmosphere"\nmin = "0.9 bar"\nmax = "3.5 bar"',
        'quantity = "engine-speed"\nreference = "atmosphere"\nmin = "900 rpm"',
        f'{LIMIT}, reference: found "atmosphere" for engine-speed, which is no pressure; '
        "delete the reference",
    ),
    (
        'max = "3.5 bar"',
        'max = "50 psia"',
        f'{LIMIT}, max: found "50 psia", a pressure against vacuum, where the reference '
        'is atmosphere; write reference = "vacuum", or another unit',
    ),
    # place and engine
    (
        'altitude = "310 m"',
        'altitude = "310 km"',
        'place, altitude: found "310 km"; write the workshop\'s height above the sea, '
        "between -500 m and 9000 m",
    ),
    (
        'barometer = "97.6 kPa"',
        'barometer = "0 kPa"',
        'place, barometer: found "0 kPa"; write the air pressure at the workshop '
        "itself, absolute, between 30 and 112 kPa",
    ),
    (
        "firing_order = [1, 3, 4, 2]",
        "firing_order = [1, 3, 4]",
        "vehicle, firing_order: found [1, 3, 4] for 4 cylinders; write every number "
        "from 1 to 4 once",
    ),
    (
        '["2100 rpm", "2200 rpm"]',
        '["2200 rpm", "2100 rpm"]',
        'vehicle, pump_switches: found "2200 rpm" before "2100 rpm"; write the speed at '
        "which it falls back first, then the one at which it steps up",
    ),
    # names
    (
        'sensor = "oil transducer"',
        'sensor = "oil transduser"',
        f'{HOT}, signal 1, sensor: found "oil transduser", which is no sensor of this '
        'job; write "oil transducer", or one of "oil transducer", "thermometer" or "sealed one"',
    ),
    (
        'sensor = "oil transducer"',
        'sensor = "thermometer"',
        f'{HOT}, signal 1, sensor: "thermometer" measures a temperature while '
        "oil-pressure is a pressure; name a sensor of that kind, or correct the quantity",
    ),
    (
        'instrument = "dial gauge"',
        'instrument = "other gauge"',
        'reading 1, instrument: found "other gauge", which is no instrument of this '
        'job; write "dial gauge"',
    ),
    (
        'visit = "first"\nfile',
        'visit = "second"\nfile',
        f'{HOT}, visit: found "second", which is no visit; write "first", or add a [[visit]]',
    ),
    (
        'name = "thermometer"',
        'name = "oil transducer"',
        'sensor "oil transducer", name: the name "oil transducer" is given to 2 '
        "sensors; give each a name of its own",
    ),
    (
        'name = "second logger"',
        'name = "hot idle"',
        f'{HOT}, name: the name "hot idle" is given to 2 recordings of one visit; give '
        "each a name of its own",
    ),
    (
        'aligned_with = "hot idle"',
        'aligned_with = "cold idle"',
        'recording "second logger", aligned_with: found "cold idle", which is no other '
        'recording of the visit; write "hot idle"',
    ),
    (
        'aligned_by = "ignition"',
        'aligned_by = "engine-speed"',
        'recording "second logger", aligned_by: found "engine-speed", which the two '
        "recordings do not both hold; write ignition",
    ),
    (
        'aligned_with = "hot idle"\n',
        "",
        'recording "second logger", aligned_by: found aligned_by without aligned_with; '
        'add aligned_with = "…", a recording',
    ),
    # recordings and signals
    (
        'rate = "1 kHz"',
        'rate = "1 kHz"\ntime = "t"',
        'recording "second logger", rate: found both time = "t" and rate = "1 kHz"; '
        "keep the one that is right",
    ),
    (
        'rate = "1 kHz"\n',
        "",
        'recording "second logger": found neither time nor rate; add time = "…", a '
        'column, or rate = "10 kHz"',
    ),
    (
        'rate = "1 kHz"',
        'rate = "0 Hz"',
        'recording "second logger", rate: found "0 Hz"; write a rate above zero, such as "10 kHz"',
    ),
    (
        '  unit = "mbar"\n',
        "",
        'recording "second logger", signal 1: found neither sensor nor unit; add '
        'sensor = "…", or unit = "…" where the column is already in a unit',
    ),
    (
        '  unit = "mbar"\n',
        '  unit = "mbar"\n  sensor = "oil transducer"\n',
        'recording "second logger", signal 1, unit: found both sensor = "oil '
        'transducer" and unit = "mbar"; keep the one the column needs',
    ),
    (
        'sensor = "oil transducer"\n',
        'sensor = "oil transducer"\n  reference = "vacuum"\n',
        f'{HOT}, signal 1, reference: found "vacuum" while the sensor measures against '
        "atmosphere; delete it: the sensor states its own reference",
    ),
    (
        '  unit = "mbar"\n  reference = "atmosphere"',
        '  unit = "mbar"\n  reference = "crankcase"',
        'recording "second logger", signal 1, reference: found the crankcase\'s '
        'pressure measured against the crankcase; write "atmosphere" or "vacuum"',
    ),
    (
        '  unit = "mbar"\n  reference = "atmosphere"',
        '  unit = "psia"\n  reference = "atmosphere"',
        'recording "second logger", signal 1, unit: found "psia", a pressure against '
        'vacuum, where the reference is atmosphere; write reference = "vacuum", or another unit',
    ),
    (
        '  column = "s"\n  quantity = "ignition"',
        '  column = "s"\n  quantity = "ignition"\n  reference = "atmosphere"\n  unit = "V"',
        'recording "second logger", signal 2, reference: found "atmosphere" for '
        "ignition, which is no pressure; delete the reference",
    ),
    (
        "pulses_per_cycle = 1",
        "pulses_per_cycle = 0",
        f"{HOT}, signal 2, pulses_per_cycle: found 0; write how many pulses one working "
        "cycle gives, more than zero",
    ),
    (
        "teeth = 60",
        "teeth = 2",
        f"{HOT}, signal 3, teeth: found 2 with 2 missing; write all positions of the "
        "wheel, the missing ones counted in",
    ),
    (
        "teeth = 60\n",
        "",
        f"{HOT}, signal 3, missing: found 2 without teeth; write teeth = 60 and missing = 2",
    ),
    (
        "cylinder = 1",
        "cylinder = 5",
        f"{HOT}, signal 2, cylinder: found cylinder 5 of 4; write a number from 1 to 4",
    ),
    (
        'supply = "4.90 V"',
        'supply = "4.90 V"\n  supply_column = "five"',
        f"{HOT}, signal 1, supply: found both supply and supply_column; keep the one "
        "that was measured",
    ),
    (
        'column = "s"\n  quantity = "ignition"',
        'column = "p"\n  quantity = "crankcase-pressure"\n  unit = "mbar"',
        'recording "second logger", signal 2, column: the column "p" is used twice for '
        "crankcase-pressure; delete one, or name another column",
    ),
    (
        'delimiter = ";"',
        'delimiter = ","',
        f'{HOT}, text, decimal: found "," as delimiter and as decimal mark; correct one of them',
    ),
    (
        'encoding = "utf-8"',
        'encoding = "utf-9"',
        f'{HOT}, text, encoding: found "utf-9", which is no encoding; write one such as '
        '"utf-8" or "latin-1"',
    ),
    (
        "header_row = 3",
        "header_row = 7",
        f"{HOT}, text, header_row: found line 7 while the numbers begin in line 5; "
        "write a line before first_row",
    ),
    # conditions
    (
        'from = "5 s"',
        'from = "40 s"',
        f'{HOT}, condition "as found", from: found from "40 s" to "35 s"; write the '
        "earlier time first",
    ),
    (
        'from = "35 s"',
        'from = "30 s"',
        f'{HOT}, condition "cap off", from: "cap off" begins at "30 s", before '
        '"as found" ends at "35 s"; let them follow one another',
    ),
    # files
    (
        "recordings/hot-idle.csv",
        "../hot-idle.csv",
        f'{HOT}, file: found "../hot-idle.csv", which leads outside the job folder; '
        'write a path inside it with "/", such as "recordings/hot-idle.csv"',
    ),
    (
        "recordings/hot-idle.csv",
        "/etc/hostname",
        f'{HOT}, file: found "/etc/hostname", which leads outside the job folder; '
        'write a path inside it with "/", such as "recordings/hot-idle.csv"',
    ),
    (
        "recordings/hot-idle.csv",
        "C:/hot-idle.csv",
        f'{HOT}, file: found "C:/hot-idle.csv", which leads outside the job folder; '
        'write a path inside it with "/", such as "recordings/hot-idle.csv"',
    ),
]


def test_the_sample_is_sound():
    assert sentences(FULL) == []
    assert sentences(SMALL) == []


@pytest.mark.parametrize(("old", "new", "sentence"), CASES)
def test_a_sentence_for_each_fault(old, new, sentence):
    told = [re.sub(r" \(line \d+\)", "", said) for said in sentences(spoiled(old, new))]
    assert f"job.toml, {sentence}." in told


@pytest.mark.parametrize(("old", "new", "sentence"), CASES)
def test_the_line_named_is_the_right_one(old, new, sentence):
    """The line holds the key the place ends in, or the header or key of the table it names."""
    text = spoiled(old, new)
    for said in sentences(text):
        if found := re.match(r"job.toml, (.*?) \(line (\d+)\): ", said):
            line = text.splitlines()[int(found.group(2)) - 1]
            words = re.findall(r"(?:^|, )([a-z_]+)", found.group(1))
            assert any(word in line for word in words[-2:]), (said, line)


def test_a_single_fault_gives_few_sentences():
    """What one slip drags along stays short: at most two sentences in any case above."""
    counts = {new: len(sentences(spoiled(old, new))) for old, new, _ in CASES}
    assert max(counts.values()) <= 2, counts


def test_faults_of_all_kinds_are_told_together():
    text = spoiled('min = "0.9 bar"', "min = 0.9")
    text = spoiled('from = "35 s"', 'from = "30 s"', text)
    text = spoiled("snubber = false", "snuber = false", text)
    text = spoiled('instrument = "dial gauge"', 'instrument = "none"', text)
    told = "\n".join(sentences(text))
    assert len(sentences(text)) == 4
    for words in ("found 0.9", '"cap off" begins', '"snuber"', "no instrument"):
        assert words in told


def test_swapped_points_are_one_slip():
    text = spoiled(POINTS, 'points = [["0 bar", "0.5 V"], ["10 bar", "4.5 V"]]')
    assert (
        f'job.toml, {OIL}, points (line 67): found "0 bar", a pressure, as the sensor\'s output; '
        'write the output first, then what it means, such as ["0.5 V", "0 bar"].'
    ) in sentences(text)


def test_neither_recording_nor_reading():
    text = SMALL[: SMALL.index("[[reading]]")]
    assert sentences(text) == [
        "job.toml: found neither a [[recording]] nor a [[reading]]; add at least one of them."
    ]


def test_several_visits_and_a_silent_reading():
    text = SMALL + '[[visit]]\nname = "one"\n[[visit]]\nname = "two"\n'
    assert sentences(text) == [
        "job.toml, reading 1, visit (line 6): no visit is named while the job has several; write "
        '"one" or "two".'
    ]


def test_a_named_visit_where_none_is_stated():
    text = SMALL + 'visit = "second"\n'
    assert sentences(text) == [
        'job.toml, reading 1, visit (line 9): found "second", which is no visit; add a [[visit]] '
        'of that name, or write "first".'
    ]


def test_a_recording_without_signals():
    text = SMALL + '[[recording]]\nname = "r"\nfile = "r.csv"\ntime = "t"\n'
    assert sentences(text) == [
        'job.toml, recording "r" (line 9): found no [[recording.signal]]; add one for each column '
        "that is used."
    ]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", 'job.toml: the key "format" is missing; add format = 1.'),
        (
            'format = 1\ntitle = "x\n',
            "job.toml, line 2: not TOML: Illegal character '\\n'; correct this line.",
        ),
        (
            "a = 1\na = 2\n",
            "job.toml, line 2: not TOML: Cannot overwrite a value; correct this line.",
        ),
        ("a = " + "[" * 5000, "job.toml: lists nested too deeply to read; write them flat."),
    ],
)
def test_files_that_are_no_job(text, sentence):
    assert sentences(text)[0] == sentence


def test_bytes_that_are_not_utf8():
    from gaugewright.errors import InputError
    from gaugewright.job.reading import MOST_BYTES, job_from_bytes

    with pytest.raises(InputError) as caught:
        job_from_bytes(b'format = 1\ntitle = "\xfc"\n', "job.toml")
    sentence = "job.toml, line 2: byte 0xfc is not UTF-8; save the file as UTF-8."
    assert caught.value.text == sentence
    with pytest.raises(InputError, match="more than 4194304; keep recordings"):
        job_from_bytes(b"#" * (MOST_BYTES + 1), "job.toml")


def test_a_missing_recording(tmp_path):
    folder = lay(tmp_path)
    (folder / "recordings" / "logger.csv").unlink()
    assert sentences(FULL, folder) == [
        'job.toml, recording "second logger", file (line 152): the file "recordings/logger.csv" is '
        "not there; put it there, or correct the name."
    ]


def test_a_link_that_leads_outside(tmp_path):
    folder = lay(tmp_path / "job")
    outside = tmp_path / "secret.csv"
    outside.write_text("t\n", encoding="utf-8")
    target = folder / "recordings" / "logger.csv"
    target.unlink()
    target.symlink_to(outside)
    assert sentences(FULL, folder) == [
        'job.toml, recording "second logger", file (line 152): found "recordings/logger.csv", a '
        "link that leads outside the job folder; copy the recording itself into the folder."
    ]


def test_twenty_are_printed_and_the_rest_counted():
    from job_sample import read

    from gaugewright.errors import InputError

    text = SMALL + "".join(f"blorp{number} = 1\n" for number in range(25))
    with pytest.raises(InputError) as caught:
        read(text)
    assert len(caught.value.problems) == 25
    assert len(caught.value.text.splitlines()) == 21
    assert caught.value.text.endswith("and 5 more.")
