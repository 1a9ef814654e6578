namespace WashBridge.Grafana;

/// <summary>Can the data be trusted, and does everything that carries it run?</summary>
internal static class Operations
{
    public static Dashboard DataHealth { get; } = new(
        "washbridge-data",
        "Data health",
        "For IT: whether the bridge runs, who is read, who is behind, and how long the disk lasts. The bridge tells every minute, so silence here means that it, its network or InfluxDB is down.",
        "now-24h",
        [
            new(
                PanelKind.Stat,
                "Free on the historian's disk",
                "What the service may still fill. The historian stops when there is nothing left: make room or shorten `keep-samples` before that.",
                $"""SELECT last("disk_free_bytes") AS "free" FROM "wash_bridge" WHERE {Conditions.Site}""")
            {
                Width = 6,
                Height = 5,
                Legend = "$col",
                Unit = "bytes",
            },
            new(
                PanelKind.Stat,
                "Historian",
                "Size of the historian's file.",
                $"""SELECT last("store_bytes") AS "size" FROM "wash_bridge" WHERE {Conditions.Site}""")
            {
                Width = 6,
                Height = 5,
                Legend = "$col",
                Unit = "bytes",
            },
            new(
                PanelKind.Table,
                "Who follows the log, and how far behind",
                "`late` is the age of the oldest entry that waits: a follower that stays above a minute is stuck or its server is down. The page *data* has the reason in its own words.",
                $"""SELECT last("behind") AS "entries", "late_s" AS "late" FROM "wash_follower" WHERE {Conditions.Site} GROUP BY "follower" """)
            {
                Height = 5,
                Unit = "none",
                Units = [("late", "s")],
            },
            new(
                PanelKind.Series,
                "How late each follower is",
                "Age of the oldest entry that waits. It falls back to nothing when an outage ends: nothing is lost meanwhile, the log is the queue.",
                $"""SELECT max("late_s") FROM "wash_follower" WHERE {Conditions.Site} GROUP BY time($__interval), "follower" FILL(none)""")
            {
                Legend = "$tag_follower",
                Unit = "s",
            },
            new(
                PanelKind.Series,
                "Reads that brought nothing",
                "Of each washer's controller: answers that did not come, connections that could not be made. A few are usual on a busy network; many cost proof.",
                $"""SELECT sum("failed") FROM "wash_read" WHERE {Conditions.Washer} GROUP BY time($__interval), "washer" FILL(none)""")
            {
                Legend = "$tag_washer",
                Unit = "none",
            },
            new(
                PanelKind.Series,
                "Reads that brought something",
                "Of each washer's controller. It should be level while the washer is on.",
                $"""SELECT sum("done") FROM "wash_read" WHERE {Conditions.Washer} GROUP BY time($__interval), "washer" FILL(none)""")
            {
                Legend = "$tag_washer",
                Unit = "none",
            },
            new(
                PanelKind.Series,
                "Growth of the historian in a day",
                "How fast the file grows, as bytes in a day. Free space divided by this is how long the disk lasts.",
                $"""SELECT non_negative_derivative(last("store_bytes"), 1d) AS "growth in a day" FROM "wash_bridge" WHERE {Conditions.Site} GROUP BY time($__interval) FILL(none)""")
            {
                Legend = "$col",
                Unit = "bytes",
            },
            new(
                PanelKind.Series,
                "Frames that wait to be committed",
                "Read, and not yet on the disk. It should stay near nothing; a rise is a slow or full disk.",
                $"""SELECT max("frames_waiting") AS "frames" FROM "wash_bridge" WHERE {Conditions.Site} GROUP BY time($__interval) FILL(none)""")
            {
                Legend = "$col",
                Unit = "none",
            },
            new(
                PanelKind.Table,
                "Controllers lost and restored",
                "Every outage of a washer's connection with its reason; `gap` is how long nothing was read.",
                $"""SELECT "washer", "group", "state", "reason", "gap_s" AS "gap" FROM "wash_source" WHERE {Conditions.Washer} ORDER BY time DESC LIMIT 200""")
            {
                Unit = "none",
                Units = [("gap", "s")],
            },
            new(
                PanelKind.Table,
                "Clocks that were set",
                "A clock that is set in a cycle widens what can be said of its times. Let all clocks follow one time service.",
                $"""SELECT "washer", "shift_s" AS "by", "reason" FROM "wash_clock" WHERE {Conditions.Washer} ORDER BY time DESC LIMIT 100""")
            {
                Unit = "none",
                Units = [("by", "s")],
            },
            new(
                PanelKind.Series,
                "Gaps within cycles",
                "Stretches of a cycle in which nothing was read. Each can leave a keg unproven.",
                $"""SELECT sum("gaps") FROM "wash_cycle" WHERE {Conditions.Washer} GROUP BY time($__interval), "washer" FILL(none)""")
            {
                Legend = "$tag_washer",
                IsStacked = true,
                Unit = "none",
            },
            new(
                PanelKind.Table,
                "Corrections of records",
                "Records are never changed: a correction is a further record. Who corrected what, and why.",
                $"""SELECT "of", "number", "field", "old_value" AS "was", "new_value" AS "is", "by", "reason" FROM "wash_correction" WHERE {Conditions.Site} ORDER BY time DESC LIMIT 100""")
            {
                Unit = "none",
            },
        ])
    {
        For = "it",
        Pages = [new("Data", "/data"), new("Setup check", "/setup"), new("Records", "/records")],
    };
}
