"""Asks a data-frame library and an analytical SQL engine what the register was asked.

compare.py FILE FOLDER: the register in a file of SQLite, and a folder with questions.json. The
due work is first written out as CSV, which is how such tools get it. Loading is reading that
file. Answers must be those of the register, row for row. Prints medians in milliseconds.
"""

import csv
import json
import pathlib
import sqlite3
import statistics
import sys
import time
from datetime import date

import duckdb
import polars

ROWS = 200
EPOCH = date(1970, 1, 1).toordinal()
COLUMNS = ["subject_id", "task", "due_on", "depot", "subject"]
WORK = """
    select due.subject_id, due.task, due.due_on, due.depot,
        coalesce(component.part || ' ' || component.serial, car.number)
    from due left join component on component.id = due.component_id
    left join car on car.id = due.car_id
    where due.due_on is not null"""


def write_out(database, file):
    connection = sqlite3.connect(f"file:{database}?mode=ro", uri=True)
    with open(file, "w", newline="") as out:
        writer = csv.writer(out)
        writer.writerow(COLUMNS)
        for subject_id, task, due_on, depot, subject in connection.execute(WORK):
            day = date.fromordinal(EPOCH + due_on)
            writer.writerow([subject_id, task, day, depot, subject])


def by_polars(file):
    # The numbers of cars come first, so what a subject is cannot be guessed from them.
    work = polars.read_csv(file, try_parse_dates=True, schema_overrides={"subject": polars.String})

    def ask(depot, until):
        found = (
            work.lazy()
            .filter((polars.col("depot") == depot) & (polars.col("due_on") <= until))
            .sort("due_on", "subject_id", "task")
            .head(ROWS)
            .select("due_on", "task", "subject")
            .collect()
        )
        return found.rows()

    return ask


def by_duckdb(file):
    connection = duckdb.connect()
    connection.execute(
        "create table work as select * from read_csv(?, types = {'subject': 'varchar'})",
        [str(file)],
    )

    def ask(depot, until):
        return connection.execute(
            """select due_on, task, subject from work where depot = ? and due_on <= ?
            order by due_on, subject_id, task limit ?""",
            [depot, until, ROWS],
        ).fetchall()

    return ask


def milliseconds(since):
    return (time.perf_counter() - since) * 1e3


def measured(name, load, file, questions):
    since = time.perf_counter()
    ask = load(file)
    loading = milliseconds(since)
    times = []
    for question in questions:
        depot, until = question["depot"], date.fromisoformat(question["until"])
        since = time.perf_counter()
        found = ask(depot, until)
        times.append(milliseconds(since))
        found = [[str(on), task, subject] for on, task, subject in found]
        if found != question["answer"]:
            sys.exit(f"{name} answers otherwise than the register: {depot} until {until}")
    return {"loading": loading, "asking": statistics.median(times)}


def main():
    database, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    file = folder / "work.csv"
    write_out(database, file)
    questions = json.loads((folder / "questions.json").read_text())
    told = {
        name: measured(name, load, file, questions)
        for name, load in [("polars", by_polars), ("duckdb", by_duckdb)]
    }
    print(json.dumps(told))


main()
