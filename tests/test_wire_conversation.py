"""Asking a meter: what is sent when, what is believed, and how both ends stay in step."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from wire_answers import values

from coilmeter.values import Flag, Reading
from coilmeter.wire.contract import Rejected
from coilmeter.wire.conversation import MOST_ERRORS, Conversation
from coilmeter.wire.prompt import FORMAT as PROMPT
from coilmeter.wire.scpi import FORMAT as SCPI

NO_ERROR = b'+0,"No error"\r\n'
SETUP = b"*RST\n*CLS\nCONF:RES\nSYST:ERR?\n"


def scpi(*, serial: bool = False) -> Conversation:
    """Begin to talk with a meter of the format scpi."""
    return Conversation(SCPI, SCPI.dialogue, serial=serial)


def set_up() -> Conversation:
    """Give a conversation that has sent its first query."""
    talk = scpi()
    talk.to_send()
    talk.receive(NO_ERROR)
    talk.to_send()
    return talk


def test_a_meter_on_a_serial_port_is_made_to_listen_first() -> None:
    """Set-up and error query go out at once; READ? only when the queue was found empty."""
    on_socket, on_serial = scpi(), scpi(serial=True)

    assert on_socket.to_send() == SETUP
    assert on_serial.to_send() == b"SYST:REM\n" + SETUP
    assert on_serial.to_send() == b""
    assert on_serial.receive(NO_ERROR) == []
    assert on_serial.to_send() == b"READ?\n"
    assert on_serial.to_send() == b""


def test_four_wires_are_another_dialogue_of_the_format() -> None:
    """The same with CONF:FRES; a meter that is set by its keys has none."""
    assert SCPI.four_wire is not None
    talk = Conversation(SCPI, SCPI.four_wire, serial=False)

    assert b"CONF:FRES\n" in talk.to_send()
    assert PROMPT.four_wire is None


def test_readings_come_one_for_each_query() -> None:
    """A reading is handed out with its last byte, and the next query follows."""
    talk = set_up()

    early = talk.receive(b"+2.34500000E+0")
    found = talk.receive(b"2\r\n")

    assert early == []
    assert values(found) == [234.5]
    assert talk.to_send() == b"READ?\n"


def test_several_readings_of_one_query() -> None:
    """All numbers of a line answer one query."""
    talk = set_up()

    found = talk.receive(b"+1.0E+00,+2.0E+00\r\n")

    assert values(found) == [1.0, 2.0]
    assert talk.to_send() == b"READ?\n"


def test_an_over_range_is_believed_only_after_the_error_queue_was_read() -> None:
    """It is held back; an empty queue lets it out, with everything that came behind it."""
    talk = set_up()

    held = talk.receive(b"+1.0E+00,+9.9E+37,+2.0E+00\r\n")
    asked = talk.to_send()
    found = talk.receive(NO_ERROR)

    assert values(held) == [1.0]
    assert asked == b"SYST:ERR?\n"
    assert values(found) == [None, 2.0]
    assert isinstance(found[0], Reading)
    assert found[0].overload
    assert talk.to_send() == b"READ?\n"


def test_an_over_range_with_an_error_behind_it_is_no_open_coil() -> None:
    """A meter may send the number because a command went wrong (printed for one: S39)."""
    talk = set_up()

    held = talk.receive(b"+9.90000000E+37\r\n")
    talk.to_send()
    first = talk.receive(b'-230,"Data corrupt or stale"\r\n')
    again = talk.to_send()
    found = talk.receive(NO_ERROR)

    assert (held, first, again) == ([], [], b"SYST:ERR?\n")
    assert values(found) == [
        "OL ohm, but the meter reports -230 'Data corrupt or stale'",
        "the meter reports -230 'Data corrupt or stale'",
    ]
    assert talk.refused == ""
    assert talk.to_send() == b"READ?\n"


def test_an_over_range_without_an_answer_of_the_queue_is_not_believed() -> None:
    """Where the error query stays unanswered the meter is set up anew."""
    talk = set_up()
    talk.receive(b"+9.90000000E+37\r\n")
    talk.to_send()

    found = talk.overdue()

    assert values(found) == ["OL ohm, but no answer to SYST:ERR?, so that it is not believed"]
    assert talk.to_send() == SETUP


def test_not_a_number_is_never_a_reading() -> None:
    """NAN goes the same way, and is refused even with an empty queue."""
    talk = set_up()
    talk.receive(b"+9.91E+37\r\n")
    talk.to_send()

    found = talk.receive(NO_ERROR)

    assert values(found) == ["not a number: no reading"]


def test_a_refused_set_up_is_told_with_the_errors() -> None:
    """What the meter says against it is kept, and it is tried again when that was read."""
    talk = scpi()
    talk.to_send()

    found = talk.receive(b'-113,"Undefined header"\r\n')
    talk.to_send()
    talk.receive(NO_ERROR)

    assert values(found) == ["the meter reports -113 'Undefined header'"]
    assert talk.refused == (
        "it refuses the set-up *RST, *CLS, CONF:RES: -113 'Undefined header'"
    )
    assert talk.to_send() == SETUP


def test_a_query_without_an_answer_asks_for_the_reason() -> None:
    """An error tells that the query is refused; none tells to set the meter up anew."""
    refusing, switched_off = set_up(), set_up()
    for talk in (refusing, switched_off):
        assert talk.overdue() == []
        assert talk.to_send() == b"SYST:ERR?\n"
    refusing.receive(b'-113,"Undefined header"\r\n')
    refusing.to_send()
    refusing.receive(NO_ERROR)
    switched_off.receive(NO_ERROR)

    assert refusing.refused == "it refuses READ?: -113 'Undefined header'"
    assert switched_off.refused == ""
    assert refusing.to_send() == SETUP
    assert switched_off.to_send() == SETUP


def test_a_late_reading_does_not_answer_another_query() -> None:
    """Of two answers that come at once only the entry that is awaited counts."""
    talk = set_up()
    talk.overdue()
    talk.to_send()

    found = talk.receive(b"+2.34500000E+02\r\n" + NO_ERROR)

    assert values(found) == ["a reading that nobody asked for, or too late"]
    assert talk.to_send() == SETUP


def test_a_late_entry_does_not_answer_a_query() -> None:
    """An entry that comes while a reading is awaited is passed over, an error is told."""
    talk = set_up()

    found = talk.receive(NO_ERROR + b'-410,"Query interrupted"\r\n' + b"+2.345E+02\r\n")

    assert values(found) == ["the meter reports -410 'Query interrupted'", 234.5]


def test_a_damaged_answer_is_followed_by_the_error_query() -> None:
    """Only so is it certain that the next reading answers the next query."""
    talk = set_up()

    found = talk.receive(b"+2.34..0E+02\r\n")
    asked = talk.to_send()
    late = talk.receive(b"+2.34500000E+02\r\n")
    talk.receive(NO_ERROR)

    assert values(found) == ["'+2.34..0E+02' at byte 0 is no number of IEEE 488.2"]
    assert asked == b"SYST:ERR?\n"
    assert values(late) == ["a reading that nobody asked for, or too late"]
    assert talk.to_send() == b"READ?\n"


def test_damage_behind_an_over_range_keeps_the_order() -> None:
    """What is refused while something is held back comes out behind it."""
    talk = set_up()
    talk.receive(b"+9.9E+37\r\n")
    talk.to_send()

    noise = talk.receive(b"\xff\n")
    found = talk.receive(NO_ERROR)

    assert noise == []
    assert [type(answer) for answer in found] == [Reading, Rejected]
    positions = [answer.position for answer in found if isinstance(answer, Rejected)]
    assert positions == [len(NO_ERROR) + len(b"+9.9E+37\r\n")]


def test_an_error_queue_that_never_empties_ends() -> None:
    """So many entries are asked for and no more; then it goes on."""
    talk = set_up()
    talk.receive(b"+9.9E+37\r\n")
    asked = 0
    while talk.to_send() == b"SYST:ERR?\n":
        asked += 1
        found = talk.receive(b'-350,"Queue overflow"\r\n')

    assert asked == MOST_ERRORS
    assert len(found) == 1 + MOST_ERRORS
    assert all(isinstance(answer, Rejected) for answer in found)


def test_nothing_is_believed_before_it_was_asked_for() -> None:
    """A stream of numbers from another program's queries is no answer to ours."""
    talk = scpi()

    found = talk.receive(b"+1.0E+00\r\n+2.0E+00\r\n")

    assert values(found) == 2 * ["a reading that nobody asked for, or too late"]


@given(data=st.data())
def test_any_bytes_keep_a_conversation_sound(data: st.DataObject) -> None:
    """Whatever a meter sends: no exception, no byte twice, and over-range only when sure."""
    form = data.draw(st.sampled_from([SCPI, PROMPT]))
    talk = Conversation(form, form.dialogue, serial=True)
    parts = st.sampled_from(
        [
            NO_ERROR,
            b'-230,"Data corrupt"\r\n',
            b"+2.345E+02\r\n",
            b"+9.9E+37\r\n",
            b"+9.91E+37,1.0\r\n",
            b"+2.345E+2 OHMS\r\n",
            b"=>\r\n",
            b"?>\r\n",
            b"=>",
            b"\r",
        ]
    )
    sent = b""
    answers: list[Reading | Rejected] = []
    for _ in range(data.draw(st.integers(0, 25))):
        step = data.draw(st.sampled_from(["send", "overdue", "bytes", "noise"]))
        if step == "send":
            assert bool(talk.to_send()) or talk.waiting
            assert talk.to_send() == b""
        elif step == "overdue":
            answers += talk.overdue()
        else:
            piece = data.draw(parts if step == "bytes" else st.binary(max_size=12))
            sent += piece
            answers += talk.receive(piece)

    assert sum(len(answer.raw) for answer in answers) <= len(sent)
    assert all(answer.raw in sent for answer in answers)
    assert all(
        form is PROMPT or NO_ERROR in sent
        for answer in answers
        if isinstance(answer, Reading) and answer.overload
    )
    assert all(
        answer.flags <= {Flag.NEGATIVE} for answer in answers if isinstance(answer, Reading)
    )
