"""The tables, triggers and views of a record, as text; ``verify`` compares them.

No other unique index may ever stand on ``entry``: with a second one, or on a rowid
table, INSERT OR REPLACE erases another line although no trigger fires.

What is told from a line has the type ``any``: of any other, SQLite's own check takes
every line apart once for each column, only to see that its type is right.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any

from hygiene.book.record import STANDING
from hygiene.kinds import HOMES, kind_class
from hygiene.kinds.base import Kind, Shape, shapes

TABLES = """
create table entry(
  book text not null,
  seq integer not null,
  line text not null,
  hash text not null,
  kind any generated always as (json_extract(line, '$.kind')) virtual,
  happened_at any generated always as (json_extract(line, '$.happened_at')) virtual,
  recorded_at any generated always as (json_extract(line, '$.recorded_at')) virtual,
  corrects any generated always as (json_extract(line, '$.corrects')) virtual,
  happened any
    generated always as (unixepoch(json_extract(line, '$.happened_at'))) virtual,
  recorded any
    generated always as (unixepoch(json_extract(line, '$.recorded_at'))) virtual,
  check (json_extract(line, '$.book') is book),
  check (json_extract(line, '$.seq') is seq),
  check (json_extract(line, '$.kind') is not null),
  check (unixepoch(json_extract(line, '$.happened_at')) is not null),
  check (unixepoch(json_extract(line, '$.recorded_at')) is not null),
  check (length(hash) = 64 and hash not glob '*[^0-9a-f]*'),
  primary key (book, seq)
) without rowid, strict;
create index entry_by_kind on entry(kind, happened);
create index entry_by_first on entry(corrects) where corrects is not null;
create table mention(
  code text not null,
  kind text not null,
  book text not null,
  seq integer not null,
  primary key (code, kind, book, seq)
) without rowid, strict;
create table attachment(
  sha256 text not null primary key,
  bytes blob not null,
  check (length(sha256) = 64),
  check (length(bytes) <= 10485760)
) without rowid, strict;
create trigger entry_is_never_changed before update on entry
  begin select raise(abort, 'an entry is never changed: correct it'); end;
create trigger entry_is_never_removed before delete on entry
  begin select raise(abort, 'an entry is never removed: strike it'); end;
create trigger entry_is_the_next before insert on entry
  when new.seq is not
    (select coalesce(max(seq), 0) + 1 from entry where book = new.book)
  begin select raise(abort, 'this is not the next line of its book'); end;
create trigger attachment_is_never_changed before update on attachment
  begin select raise(abort, 'a file is never changed'); end;
create trigger attachment_is_never_removed before delete on attachment
  begin select raise(abort, 'a file is never removed'); end;
create trigger attachment_is_new before insert on attachment
  when exists (select 1 from attachment where sha256 = new.sha256)
  begin select raise(abort, 'this file is attached already'); end;
"""


def statements() -> Iterator[str]:
    """Every statement that makes an empty record, in order."""
    yield from split(TABLES)
    yield mention_trigger()
    yield from views()


def split(script: str) -> list[str]:
    """The statements of a script; only a trigger's inner end is not a line's end."""
    return script.strip().removesuffix(";").split(";\n")


def mention_trigger() -> str:
    """The trigger that fills ``mention`` from the reference fields of the kinds."""
    return f"""create trigger entry_mentions after insert on entry
  begin
    insert or ignore into mention(code, kind, book, seq)
    select a.value, new.kind, new.book, new.seq from {_references("new.line")};
  end"""


def mentions_told() -> str:
    """What ``mention`` must hold, told again by every line."""
    return f"""select distinct
      a.value as code, e.kind as kind, e.book as book, e.seq as seq
    from entry e, {_references("e.line")}"""


def _references(line: str) -> str:
    """The texts under a reference key in a body, alone or in a list.

    A field name refers in every kind or in none, so the keys are enough. They are
    compared first: asking ``json_tree`` for each path would take twice as long.
    """
    keys = ", ".join(f"'{name}'" for name in sorted(reference_names()))
    return f"""json_tree({line}, '$.body') t, json_each(
      case t.type when 'array' then t.value else json_array(t.value) end) a
    where t.key in ({keys}) and t.type in ('text', 'array') and a.type = 'text'"""


def reference_names() -> set[str]:
    """The field names that refer to something else."""
    return {
        shape.name
        for kind in HOMES
        for shape in all_shapes(kind_class(kind))
        if shape.refers
    }


STANDS = f"""create view standing as select
  e.book || '/' || e.seq as entry,
  coalesce(e.corrects, e.book || '/' || e.seq) as first_entry,
  e.happened_at as happened_at,
  e.recorded_at as recorded_at,
  e.line->>'$.by' as by,
  e.line->>'$.written_by' as written_by,
  e.line->>'$.reason' as reason,
  e.kind as kind,
  e.line as line
from entry e where {STANDING}"""


def views() -> Iterator[str]:
    """What stands; of that, one view a kind, and one for each of its list fields.

    SQLite reads all their texts whenever a record is opened: said in full by each of
    them, what stands would cost 3 ms more on every command.
    """
    yield STANDS
    for kind in HOMES:
        made = kind_class(kind)
        yield _kind_view(kind, made)
        for shape in shapes(made):
            if shape.many:
                yield _list_view(kind, shape)


def _kind_view(kind: str, made: type[Kind]) -> str:
    names = "entry, first_entry, happened_at, recorded_at, by, written_by, reason"
    columns = [
        f"line->>'$.body.{shape.name}' as {shape.name}"
        for shape in shapes(made)
        if not shape.many and not dataclasses.is_dataclass(shape.item)
    ]
    return f"""create view {kind} as select
  {_listed(names, *columns)}
from standing where kind = '{kind}'"""


def _list_view(kind: str, shape: Shape) -> str:
    columns = ["i.value as value"]
    if dataclasses.is_dataclass(shape.item):
        columns = [
            f"i.value->>'$.{inner.name}' as {inner.name}"
            for inner in shapes(shape.item)
        ]
    return f"""create view {kind}_{shape.name} as select
  {_listed("entry", "i.key + 1 as place", *columns)}
from standing, json_each(line, '$.body.{shape.name}') i where kind = '{kind}'"""


def _listed(*columns: str) -> str:
    return ",\n  ".join(columns)


def all_shapes(made: Any) -> Iterator[Shape]:
    """The fields of a kind, and of what its fields hold."""
    for shape in shapes(made):
        yield shape
        if dataclasses.is_dataclass(shape.item):
            yield from all_shapes(shape.item)
