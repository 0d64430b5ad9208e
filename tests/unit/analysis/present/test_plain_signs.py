import io
from pathlib import Path

import pytest

import analysis
from analysis.present.plain_signs import as_plain, register

TEXT = "depth −0.7 mm → set ≤ 5 °C, 2 × 3 m³, Äcker"


def written(encoding: str, text: str) -> str:
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding=encoding, errors=register())
    stream.write(text)
    stream.flush()
    return raw.getvalue().decode(encoding)


def test_only_what_the_console_lacks_is_changed():
    assert written("utf-8", TEXT) == TEXT
    assert written("cp1252", TEXT) == "depth -0.7 mm -> set <= 5 °C, 2 × 3 m³, Äcker"
    assert written("ascii", TEXT) == "depth -0.7 mm -> set <= 5 ?C, 2 x 3 m3, Acker"


def test_a_sign_that_has_no_like_is_a_question_mark():
    assert written("cp1252", "a\u4e2db") == "a?b"


def test_no_sign_of_number_is_lost_in_any_text_of_ours():
    """Every sign that the sources hold, on consoles of western and central Europe and of old systems."""
    room = Path(analysis.__file__).parent
    signs = {sign for path in room.rglob("*.py") for sign in path.read_text(encoding="utf-8") if ord(sign) > 127}
    assert "−" in signs
    for encoding in ("cp1252", "cp1250", "cp850", "cp437", "ascii"):
        assert as_plain(written(encoding, "−5 ≤ x → y ≥ 2")) == "-5 <= x -> y >= 2"
        assert "−" not in written(encoding, "−5")
        assert all(written(encoding, sign) for sign in signs)


def test_it_is_for_writing_only():
    register()
    with pytest.raises(UnicodeDecodeError):
        b"\xff".decode("utf-8", errors=register())


def test_plain_text_stays():
    assert as_plain("oil pressure 60 bar, 7 km/h") == "oil pressure 60 bar, 7 km/h"
