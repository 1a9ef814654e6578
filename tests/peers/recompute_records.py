# Recomputes the chain of records of a historian from what RECORDS.md and FORMAT.md say, and nothing else.
# Prints the number of each record that does not fit, then NUMBER:HASH of the last. Argument: the historian's file.
import hashlib
import sqlite3
import struct
import sys

ZEROS = bytes(32)


def fixed(number):
    return struct.pack("<q", number)


def record_hash(number, previous, sequence, event_id, body):
    return hashlib.sha256(
        b"WashBridge record 1\n" + fixed(number) + previous + fixed(sequence)
        + fixed(len(event_id)) + event_id + fixed(len(body)) + body).digest()


connection = sqlite3.connect(f"file:{sys.argv[1]}?mode=ro", uri=True)
rows = connection.execute(
    "SELECT number, event, previous, hash, CAST(id AS BLOB), CAST(body AS BLOB) FROM records LEFT JOIN events ON seq = event ORDER BY number")
expected, last = 1, ZEROS
for number, sequence, previous, stored, event_id, body in rows:
    fits = number == expected and previous == last and body is not None and stored == record_hash(number, previous, sequence, event_id, body)
    if not fits:
        print(f"breaks at {number}")
    expected, last = number + 1, stored
print(f"{expected - 1}:{last.hex()}")
