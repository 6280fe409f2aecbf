"""The examples that RFC 5545 prints in its section 3.8.5.3 (September 2009).

Its starts are 9:00 in New York and its UNTIL are moments; ours are days, so an UNTIL
at midnight UTC, which is the evening before in New York, is written as that day
before, and one at 14:00 UTC, which is 9:00 there, as its own day. The examples by the
hour and the minute are left out: a rota's clock times stand apart from the rule.
"""

from __future__ import annotations

from datetime import date

import pytest

from hygiene.rota.recurrence import read_rule

MONTHS = "JanFebMarAprMayJunJulAugSepOctNovDec"


def days(text: str) -> list[date]:
    """Days as the standard prints them: ``1997 Sep 2-4,9; 1998 Jan 2``."""
    found = []
    year = month = 0
    for piece in text.replace(";", " ").split():
        if piece.isalpha():
            month = MONTHS.index(piece) // 3 + 1
        elif len(piece) == 4 and piece.isdigit():
            year = int(piece)
        else:
            for span in piece.split(","):
                first, _, last = span.partition("-")
                last = last or first
                found += [
                    date(year, month, n) for n in range(int(first), int(last) + 1)
                ]
    return found


EXAMPLES = [
    ("daily for 10", "1997-09-02", "FREQ=DAILY;COUNT=10", "1997 Sep 2-11", True),
    (
        "daily until December 24",
        "1997-09-02",
        "FREQ=DAILY;UNTIL=19971223",
        "1997 Sep 2-30; Oct 1-31; Nov 1-30; Dec 1-23",
        True,
    ),
    (
        "every other day",
        "1997-09-02",
        "FREQ=DAILY;INTERVAL=2",
        "1997 Sep 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30; "
        "Oct 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30; "
        "Nov 1,3,5,7,9,11,13,15,17,19,21,23,25,27,29; Dec 1,3",
        False,
    ),
    (
        "every 10 days, 5 times",
        "1997-09-02",
        "FREQ=DAILY;INTERVAL=10;COUNT=5",
        "1997 Sep 2,12,22; Oct 2,12",
        True,
    ),
    (
        "every day in January, 3 years, said yearly",
        "1998-01-01",
        "FREQ=YEARLY;UNTIL=20000131;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA",
        "1998 Jan 1-31; 1999 Jan 1-31; 2000 Jan 1-31",
        True,
    ),
    (
        "every day in January, 3 years, said daily",
        "1998-01-01",
        "FREQ=DAILY;UNTIL=20000131;BYMONTH=1",
        "1998 Jan 1-31; 1999 Jan 1-31; 2000 Jan 1-31",
        True,
    ),
    (
        "weekly for 10",
        "1997-09-02",
        "FREQ=WEEKLY;COUNT=10",
        "1997 Sep 2,9,16,23,30; Oct 7,14,21,28; Nov 4",
        True,
    ),
    (
        "weekly until December 24",
        "1997-09-02",
        "FREQ=WEEKLY;UNTIL=19971223",
        "1997 Sep 2,9,16,23,30; Oct 7,14,21,28; Nov 4,11,18,25; Dec 2,9,16,23",
        True,
    ),
    (
        "every other week",
        "1997-09-02",
        "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
        "1997 Sep 2,16,30; Oct 14,28; Nov 11,25; Dec 9,23; 1998 Jan 6,20; Feb 3,17",
        False,
    ),
    (
        "Tuesday and Thursday for five weeks, until",
        "1997-09-02",
        "FREQ=WEEKLY;UNTIL=19971006;WKST=SU;BYDAY=TU,TH",
        "1997 Sep 2,4,9,11,16,18,23,25,30; Oct 2",
        True,
    ),
    (
        "Tuesday and Thursday for five weeks, count",
        "1997-09-02",
        "FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH",
        "1997 Sep 2,4,9,11,16,18,23,25,30; Oct 2",
        True,
    ),
    (
        "every other week on three days",
        "1997-09-01",
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971223;WKST=SU;BYDAY=MO,WE,FR",
        "1997 Sep 1,3,5,15,17,19,29; Oct 1,3,13,15,17,27,29,31; "
        "Nov 10,12,14,24,26,28; Dec 8,10,12,22",
        True,
    ),
    (
        "every other week on two days, 8 times",
        "1997-09-02",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        "1997 Sep 2,4,16,18,30; Oct 2,14,16",
        True,
    ),
    (
        "first Friday, 10 times",
        "1997-09-05",
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        "1997 Sep 5; Oct 3; Nov 7; Dec 5; "
        "1998 Jan 2; Feb 6; Mar 6; Apr 3; May 1; Jun 5",
        True,
    ),
    (
        "first Friday until December 24",
        "1997-09-05",
        "FREQ=MONTHLY;UNTIL=19971223;BYDAY=1FR",
        "1997 Sep 5; Oct 3; Nov 7; Dec 5",
        True,
    ),
    (
        "first and last Sunday of every other month",
        "1997-09-07",
        "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
        "1997 Sep 7,28; Nov 2,30; 1998 Jan 4,25; Mar 1,29; May 3,31",
        True,
    ),
    (
        "second-to-last Monday",
        "1997-09-22",
        "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        "1997 Sep 22; Oct 20; Nov 17; Dec 22; 1998 Jan 19; Feb 16",
        True,
    ),
    (
        "third-to-the-last day of the month",
        "1997-09-28",
        "FREQ=MONTHLY;BYMONTHDAY=-3",
        "1997 Sep 28; Oct 29; Nov 28; Dec 29; 1998 Jan 29; Feb 26",
        False,
    ),
    (
        "2nd and 15th",
        "1997-09-02",
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15",
        "1997 Sep 2,15; Oct 2,15; Nov 2,15; Dec 2,15; 1998 Jan 2,15",
        True,
    ),
    (
        "first and last day of the month",
        "1997-09-30",
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
        "1997 Sep 30; Oct 1,31; Nov 1,30; Dec 1,31; 1998 Jan 1,31; Feb 1",
        True,
    ),
    (
        "10th to 15th every 18 months",
        "1997-09-10",
        "FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15",
        "1997 Sep 10,11,12,13,14,15; 1999 Mar 10,11,12,13",
        True,
    ),
    (
        "every Tuesday, every other month",
        "1997-09-02",
        "FREQ=MONTHLY;INTERVAL=2;BYDAY=TU",
        "1997 Sep 2,9,16,23,30; Nov 4,11,18,25; 1998 Jan 6,13,20,27; Mar 3,10,17,24,31",
        False,
    ),
    (
        "yearly in June and July",
        "1997-06-10",
        "FREQ=YEARLY;COUNT=10;BYMONTH=6,7",
        "1997 Jun 10 Jul 10; 1998 Jun 10 Jul 10; 1999 Jun 10 Jul 10; "
        "2000 Jun 10 Jul 10; 2001 Jun 10 Jul 10",
        True,
    ),
    (
        "every other year in three months",
        "1997-03-10",
        "FREQ=YEARLY;INTERVAL=2;COUNT=10;BYMONTH=1,2,3",
        "1997 Mar 10; 1999 Jan 10 Feb 10 Mar 10; 2001 Jan 10 Feb 10 Mar 10; "
        "2003 Jan 10 Feb 10 Mar 10",
        True,
    ),
    (
        "1st, 100th and 200th day every third year",
        "1997-01-01",
        "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
        "1997 Jan 1 Apr 10 Jul 19; 2000 Jan 1 Apr 9 Jul 18; 2003 Jan 1 Apr 10 Jul 19; "
        "2006 Jan 1",
        True,
    ),
    (
        "20th Monday of the year",
        "1997-05-19",
        "FREQ=YEARLY;BYDAY=20MO",
        "1997 May 19; 1998 May 18; 1999 May 17",
        False,
    ),
    (
        "Monday of week 20",
        "1997-05-12",
        "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO",
        "1997 May 12; 1998 May 11; 1999 May 17",
        False,
    ),
    (
        "Thursdays in March",
        "1997-03-13",
        "FREQ=YEARLY;BYMONTH=3;BYDAY=TH",
        "1997 Mar 13,20,27; 1998 Mar 5,12,19,26; 1999 Mar 4,11,18,25",
        False,
    ),
    (
        "Thursdays in June, July and August",
        "1997-06-05",
        "FREQ=YEARLY;BYDAY=TH;BYMONTH=6,7,8",
        "1997 Jun 5,12,19,26; Jul 3,10,17,24,31; Aug 7,14,21,28; "
        "1998 Jun 4,11,18,25; Jul 2,9,16,23,30; Aug 6,13,20,27; "
        "1999 Jun 3,10,17,24; Jul 1,8,15,22,29; Aug 5,12,19,26",
        False,
    ),
    (
        "Friday the 13th (the standard leaves its start out by an EXDATE)",
        "1997-09-02",
        "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
        "1998 Feb 13; Mar 13; Nov 13; 1999 Aug 13; 2000 Oct 13",
        False,
    ),
    (
        "first Saturday after the first Sunday",
        "1997-09-13",
        "FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13",
        "1997 Sep 13; Oct 11; Nov 8; Dec 13; 1998 Jan 10; Feb 7; Mar 7; Apr 11; May 9; "
        "Jun 13",
        False,
    ),
    (
        "first Tuesday after a Monday in November, every 4 years",
        "1996-11-05",
        "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8",
        "1996 Nov 5; 2000 Nov 7; 2004 Nov 2",
        False,
    ),
    (
        "third of Tuesday, Wednesday and Thursday",
        "1997-09-04",
        "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3",
        "1997 Sep 4; Oct 7; Nov 6",
        True,
    ),
    (
        "second-to-last weekday of the month",
        "1997-09-29",
        "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        "1997 Sep 29; Oct 30; Nov 27; Dec 30; 1998 Jan 29; Feb 26; Mar 30",
        False,
    ),
    (
        "week starting on Monday",
        "1997-08-05",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO",
        "1997 Aug 5,10,19,24",
        True,
    ),
    (
        "week starting on Sunday",
        "1997-08-05",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU",
        "1997 Aug 5,17,19,31",
        True,
    ),
]


@pytest.mark.parametrize(
    ("start", "rule", "printed", "ends"),
    [pytest.param(*example, id=name) for name, *example in EXAMPLES],
)
def test_the_standards_own_example(start, rule, printed, ends):
    """The days are those that the standard prints; a rule that ends has no others."""
    expected = days(printed)
    last = date(2100, 12, 31) if ends else expected[-1]
    found = read_rule(rule, date.fromisoformat(start)).between(date(1990, 1, 1), last)
    assert expected == found


def test_where_we_leave_the_standard_on_purpose():
    """3.8.5.3 prints ``BYMONTHDAY=15,30`` with no day for 30 February ("ignored");
    a task must not drop out of a month, so ours has 28 February.
    """
    rule = read_rule("FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", date(2007, 1, 15))
    assert rule.between(date(2007, 1, 1), date(2007, 12, 31)) == days(
        "2007 Jan 15,30; Feb 15,28; Mar 15"
    )
