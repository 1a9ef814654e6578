namespace WashBridge.Grafana;

/// <summary>Did every keg get its full dwell, heat, strength and purge?</summary>
internal static class Quality
{
    private static readonly PageLink KegPage = new("Everything known of the keg", "/kegs/keg?id=${__data.fields.keg:percentencode}");

    public static Dashboard Cycles { get; } = new(
        "washbridge-quality",
        "Cycle quality",
        "For QA: verdicts, what was missed or left open, decisions and inspections. No proof, no pass; release stays a person's decision, made on WashBridge's own pages.",
        "now-24h",
        [
            new(
                PanelKind.Stat,
                "Kegs by verdict",
                "Judgements in the time shown. Met: every requirement is proven. Not met: one was certainly missed. Not proven: what was seen leaves it open.",
                $"""SELECT sum("met") AS "met", sum("not_met") AS "not met", sum("not_proven") AS "not proven" FROM "wash_keg" WHERE {Conditions.Station}""")
            {
                Width = 14,
                Height = 5,
                Legend = "$col",
                Unit = "none",
            },
            new(
                PanelKind.Stat,
                "Share of kegs that met",
                "Of all judgements in the time shown. What is not proven counts against it.",
                $"""SELECT 100 * mean("met") AS "met" FROM "wash_keg" WHERE {Conditions.Station}""")
            {
                Width = 10,
                Height = 5,
                Legend = "$col",
                Unit = "percent",
                Decimals = 1,
            },
            new(
                PanelKind.Series,
                "Kegs by verdict, in the course of time",
                "A stretch of kegs not proven is a connection that dropped; a stretch not met is a setting or a machine.",
                $"""SELECT sum("met") AS "met", sum("not_met") AS "not met", sum("not_proven") AS "not proven" FROM "wash_keg" WHERE {Conditions.Station} GROUP BY time($__interval) FILL(none)""")
            {
                Width = 14,
                Legend = "$col",
                IsStacked = true,
                Unit = "none",
            },
            new(
                PanelKind.Table,
                "What was missed or left open",
                "How often each requirement was not met or not proven, by washer.",
                $"""SELECT sum("not_met") AS "not met", sum("not_proven") AS "not proven", count("met") AS "judged" FROM "wash_requirement" WHERE {Conditions.Station} GROUP BY "washer", "requirement" """)
            {
                Width = 10,
                Unit = "none",
            },
            new(
                PanelKind.Table,
                "Kegs that need a decision",
                "Judged not met or not proven, newest first. Whether somebody has decided since is on the keg's page.",
                $"""SELECT "keg", "verdict", "washer", "station", "requirements_met" AS "met", "requirements" AS "of", "cycle" FROM "wash_keg" WHERE {Conditions.Station} AND "met" = 0 ORDER BY time DESC LIMIT 200""")
            {
                Width = 24,
                Height = 10,
                Unit = "none",
                Links = [("keg", KegPage), ("cycle", new("The cycle", "/cycles/${__data.fields.cycle}"))],
            },
            new(
                PanelKind.Table,
                "Requirements that were missed or left open, with their evidence",
                "Bounds: the least and the most that can have been, in the requirement's unit. Not met where the most misses the limit; not proven where the least does and the most does not.",
                $"""SELECT "keg", "requirement", "verdict", "lower", "upper", "limit", "unit", "evidence" FROM "wash_requirement" WHERE {Conditions.Station} AND "met" = 0 ORDER BY time DESC LIMIT 200""")
            {
                Width = 24,
                Height = 10,
                Unit = "none",
                Decimals = 2,
                Links = [("keg", KegPage)],
            },
            new(
                PanelKind.Table,
                "Settings that left their approved value",
                "What the washer was set to, and what the recipe approves.",
                $"""SELECT "washer", "setpoint", "state", "approved", "set", "unit", "recipe" FROM "wash_setpoint_deviation" WHERE {Conditions.Washer} ORDER BY time DESC LIMIT 100""")
            {
                Unit = "none",
            },
            new(
                PanelKind.Table,
                "Decisions",
                "Who held, released or sent back which keg, and why.",
                $"""SELECT "keg", "decision", "was", "verdict", "by", "reason" FROM "wash_decision" WHERE {Conditions.Washer} ORDER BY time DESC LIMIT 100""")
            {
                Links = [("keg", KegPage)],
            },
            new(
                PanelKind.Table,
                "Kegs that were opened",
                "Spears pulled and swabs taken; `passed` 1 is clean.",
                $"""SELECT "keg", "lot", "inspection", "passed", "found", "value", "unit", "by" FROM "wash_inspection" WHERE {Conditions.Washer} ORDER BY time DESC LIMIT 100""")
            {
                Unit = "none",
                Links = [("keg", KegPage)],
            },
            new(
                PanelKind.Series,
                "How sharply steps are seen",
                "95 of 100 edges are known at least as well as this. The wider, the more is left unproven: see the page *setup check* for faster reads.",
                $"""SELECT percentile("width_us", 95) / 1000000 FROM "wash_step" WHERE {Conditions.Washer} GROUP BY time($__interval), "washer" FILL(none)""")
            {
                Legend = "$tag_washer",
                Unit = "s",
            },
        ])
    {
        For = "quality",
        HasStation = true,
        Pages = [new("Release list", "/kegs/release"), new("Kegs", "/kegs"), new("Samples to open", "/sampling"), new("Reports", "/reports")],
    };
}
