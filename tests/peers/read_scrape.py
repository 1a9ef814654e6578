"""read_scrape.py FILE: reads a scrape with the parser of Prometheus's own Python client; prints its families as JSON, or fails where it is not in the text format."""
import json
import sys

from prometheus_client.parser import text_fd_to_metric_families

with open(sys.argv[1], encoding="utf-8", newline="\n") as scrape:
    print(json.dumps([
        {
            "name": family.name,
            "type": family.type,
            "help": family.documentation,
            "samples": [{"name": s.name, "labels": s.labels, "value": str(s.value)} for s in family.samples],
        }
        for family in text_fd_to_metric_families(scrape)
    ]))
