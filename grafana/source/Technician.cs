namespace WashBridge.Grafana;

/// <summary>What is going wrong, what will fail next, and when?</summary>
internal static class Technician
{
    private const string For = "technician";

    private static readonly PageLink ComponentPage = new("The evidence behind it", "/upkeep/${__data.fields.washer}/${__data.fields.component}");

    private static readonly Panel Caution = new(
        PanelKind.Text,
        "Before you act on a machine",
        "The usual cautions.",
        "Hot caustic, acids and oxidising sanitisers burn; CO2 suffocates; kegs are pressure vessels. WashBridge is a monitor and no safety function. Follow your site's procedures, product labels, safety data sheets and local codes, and leave work on the machine to licensed practice.")
    {
        Width = 24,
        Height = 3,
    };

    public static Dashboard WashersNow { get; } = new(
        "washbridge-now",
        "Washers now",
        "For the technician and the operator: what every washer does, whether it is read, and what asks for somebody.",
        "now-6h",
        [
            new(
                PanelKind.Stat,
                "Is each washer read?",
                "Whether anything was read from the washer's controller in the last minute that the bridge told of, within the last 10. Where nothing was, look at the controller's power and network first; the page *data* has the reason. "
                + "Where a washer is missing altogether, it is the bridge that is silent.",
                $"""SELECT sum("done") FROM "wash_read" WHERE {Conditions.Washer} GROUP BY time($__interval), "washer" FILL(none)""")
            {
                Height = 5,
                Last = "10m",
                Legend = "$tag_washer",
                Words = [(0, 0, "not read"), (1, null, "read")],
            },
            new(
                PanelKind.Table,
                "Alarms that stand",
                "Every alarm whose condition holds and which nobody has put aside. Open it for what it means for the kegs and what to look at first.",
                $"""SELECT "what", "priority" FROM (SELECT last("stands") AS "stands", "what", "priority" FROM "wash_alarm" WHERE {Conditions.Washer} GROUP BY "washer", "alarm") WHERE "stands" = 1 AND $timeFilter GROUP BY "washer", "alarm" """)
            {
                Height = 10,
                Links = [("alarm", new("What to look at first", "/alarms/${__data.fields.washer}/${__data.fields.alarm}"))],
            },
            new(
                PanelKind.Table,
                "Last step that began",
                "Phase, pass and step, and since when. It says what was seen last: of a washer that is not read that may be long ago, and of steps that began unseen in a gap any may stand here until the next begins.",
                $"""SELECT last("position") AS "step", "cycle" FROM "wash_step_start" WHERE {Conditions.Washer} GROUP BY "washer" """)
            {
                Height = 5,
                Links = [("cycle", new("The cycle", "/cycles/${__data.fields.cycle}"))],
            },
            new(
                PanelKind.Timeline,
                "Steps",
                "What each washer did, step by step. A step that lasts much longer than its neighbours is a drain that does not end, or a washer that waits.",
                $"""SELECT "position" FROM "wash_step_start" WHERE {Conditions.Washer} GROUP BY "washer" """)
            {
                Width = 24,
                Legend = "$tag_washer",
            },
            new(
                PanelKind.Series,
                "Kegs washed, by verdict",
                "Met: every requirement is proven. Not met: one was certainly missed. Not proven: what was seen leaves it open, for instance because the connection dropped.",
                $"""SELECT sum("met") AS "met", sum("not_met") AS "not met", sum("not_proven") AS "not proven" FROM "wash_keg" WHERE {Conditions.Washer} GROUP BY time($__interval) FILL(none)""")
            {
                Legend = "$col",
                IsStacked = true,
            },
            new(
                PanelKind.Series,
                "How long cycles took",
                "From start to end as far as it is certain, the mean of the cycles that ended in each stretch. A rise means a longer drain, a pause, or a timer that was changed.",
                $"""SELECT mean("lower_s") FROM "wash_cycle" WHERE {Conditions.Washer} AND "outcome" = 'completed' GROUP BY time($__interval), "washer" FILL(none)""")
            {
                Legend = "$tag_washer",
                Unit = "s",
            },
            new(
                PanelKind.Table,
                "Cycles that did not complete",
                "Aborted: the programme did not come to its end. End unseen: nobody was reading when it ended. Their kegs are never met.",
                $"""SELECT "outcome", "washer", "lower_s" AS "at least", "gaps", "kegs", "cycle" FROM "wash_cycle" WHERE {Conditions.Washer} AND "outcome" =~ /^(aborted|end-unseen)$/ ORDER BY time DESC LIMIT 100""")
            {
                Width = 24,
                Units = [("at least", "s")],
                Links = [("cycle", new("The cycle", "/cycles/${__data.fields.cycle}"))],
            },
            Caution,
        ])
    {
        For = For,
        Pages = [new("Now", "/"), new("Alarms", "/alarms"), new("Cycles", "/cycles")],
    };

    public static Dashboard DrainsAndPumps { get; } = new(
        "washbridge-drains",
        "Drains, pumps and what will fail next",
        "For the technician: what wears, how many cycles it has left, and what that rests on.",
        "now-30d",
        [
            new(
                PanelKind.Table,
                "Cycles left of every component",
                "The latest forecast of each. The interval holds the true number in 8 of 10 cases. `not-enough-evidence` and `no-trend` are answers too: then no number is given. The cause is the best fitting one, not a certainty.",
                $"""
                SELECT last("cycles") AS "cycles run", "cycles_left" AS "cycles left", "cycles_left_lower" AS "at least", "cycles_left_upper" AS "at most", "state", "now", "limit", "unit", "cause" FROM "wash_forecast" WHERE {Conditions.Washer} GROUP BY "washer", "component"
                """)
            {
                Width = 24,
                Height = 10,
                Decimals = 0,
                Units = [("now", "none"), ("limit", "none")],
                Links = [("component", ComponentPage)],
            },
            new(
                PanelKind.Series,
                "Drain valves: index against its limit",
                "Drain time as a multiple of what the liquid delivered lets expect. A slow rise is a valve or strainer that clogs; the dashed line is where the washer's own time-out, or your limit, ends it.",
                $"""SELECT last("now") AS "now", last("limit") AS "limit" FROM "wash_forecast" WHERE {Conditions.Washer} AND "component" =~ /^drain-valve/ GROUP BY time($__interval), "washer", "component" FILL(none)""")
            {
                Legend = "$tag_washer $tag_component $col",
                Dashed = "limit$",
                Unit = "none",
                Decimals = 2,
            },
            new(
                PanelKind.Series,
                "Slowest drain of each station",
                "From the start of the drain to dry, what is certain of it. It also grows with the liquid put in: a longer spray is no clogged valve.",
                $"""SELECT max("lower_s") FROM "wash_drain" WHERE {Conditions.Station} GROUP BY time($__interval), "washer", "station" FILL(none)""")
            {
                Legend = "$tag_washer station $tag_station",
                Unit = "s",
                Decimals = 1,
            },
            new(
                PanelKind.Series,
                "Pressure while spraying",
                "Mean of the sprays of each cycle. A fall with less current is a worn pump or too little water; a fall with more current is a blocked nozzle or strainer.",
                $"""SELECT mean("value") FROM "wash_figure" WHERE {Conditions.Washer} AND "family" = 'spray-pressure' GROUP BY time($__interval), "washer", "figure" FILL(none)""")
            {
                Legend = "$tag_washer $tag_figure",
                Unit = "suffix: bar(a)",
                Decimals = 2,
            },
            new(
                PanelKind.Series,
                "Current of the spray pump",
                "Mean of the sprays of each cycle. Read it beside the pressure.",
                $"""SELECT mean("value") FROM "wash_figure" WHERE {Conditions.Washer} AND "family" = 'spray-current' GROUP BY time($__interval), "washer", "figure" FILL(none)""")
            {
                Legend = "$tag_washer $tag_figure",
                Unit = "amp",
                Decimals = 2,
            },
            new(
                PanelKind.Table,
                "Figures that drift",
                "What left its usual value, by how much and since when, and how many kegs were washed since.",
                $"""SELECT "size", "size_uncertainty" AS "uncertainty", "unit", "kegs_touched" AS "kegs since", "onset" FROM (SELECT last("drifts") AS "drifts", "size", "size_uncertainty", "unit", "kegs_touched", "onset" FROM "wash_drift" WHERE {Conditions.Washer} GROUP BY "washer", "feature") WHERE "drifts" = 1 AND $timeFilter GROUP BY "washer", "feature" """)
            {
                Decimals = 3,
                Units = [("kegs since", "none")],
                Links = [("feature", new("How it went", "/drift/${__data.fields.washer}/${__data.fields.feature}"))],
            },
            new(
                PanelKind.Table,
                "Work that was recorded",
                "What was done to components, by whom. A forecast begins anew only when the work is recorded.",
                $"""SELECT "washer", "component", "work", "by", "note" FROM "wash_maintenance" WHERE {Conditions.Washer} ORDER BY time DESC LIMIT 100""")
            {
                Links = [("component", ComponentPage)],
            },
            new(
                PanelKind.Table,
                "How forecasts stood the test",
                "Each time somebody replaced or restored a part, its forecast was held against what had happened.",
                $"""SELECT "washer", "component", "cycles_run" AS "cycles run", "cycles_left" AS "said", "cycles_left_lower" AS "at least", "cycles_left_upper" AS "at most", "outcome" FROM "wash_forecast_score" WHERE {Conditions.Washer} ORDER BY time DESC LIMIT 100""")
            {
                Width = 24,
                Decimals = 0,
            },
            Caution,
        ])
    {
        For = For,
        HasStation = true,
        Pages = [new("Upkeep", "/upkeep"), new("Drift", "/drift"), new("Alarms", "/alarms")],
    };

    public static Dashboard Baths { get; } = new(
        "washbridge-baths",
        "Baths",
        "For technician and operator: strength, temperature and dosing of each bath, and what was titrated. Evidence, and not a count, should decide when a bath is made up anew.",
        "now-7d",
        [
            Figure("Strength", "Mean conductivity of the bath in its phase, temperature compensated where the controller does so. A fall that dosing does not make good is a bath to look at; confirm it by titration.", "strength", "suffix: mS/cm"),
            Figure("Temperature", "Mean temperature of the bath in its phase.", "temperature-mean", "celsius"),
            Figure("Level", "Mean level of the bath in its phase.", "level", "percent"),
            Figure("Dosing", "Time that the dosing pump ran since the cycle before. More of it for the same strength is loss by drag-out, a leak, or a tube that wears.", "dosing-time", "s"),
            Figure("Heating", "Time that the heater was on since the cycle before.", "heater-time", "s"),
            Figure("Rise of strength for a second of dosing", "A fall is a worn dosing tube, a check valve that leaks, or an empty drum.", "dosing-response", "suffix: mS/cm/s"),
            new(
                PanelKind.Table,
                "Titrations",
                "What was measured by hand, newest first.",
                $"""SELECT "washer", "bath", "strength", "unit", "method", "by" FROM "wash_titration" WHERE {Conditions.Washer} ORDER BY time DESC LIMIT 100""")
            {
                Decimals = 2,
                Links = [("bath", new("The bath", "/baths/${__data.fields.washer}/${__data.fields.bath}"))],
            },
            new(
                PanelKind.Table,
                "Baths made up anew",
                "When, by whom and why.",
                $"""SELECT "washer", "bath", "by", "reason" FROM "wash_bath_change" WHERE {Conditions.Washer} ORDER BY time DESC LIMIT 100""")
            {
                Links = [("bath", new("The bath", "/baths/${__data.fields.washer}/${__data.fields.bath}"))],
            },
            new(
                PanelKind.Table,
                "Cycles left of every bath",
                "The latest forecast of each; the interval holds the true number in 8 of 10 cases.",
                $"""
                SELECT last("cycles") AS "cycles run", "cycles_left" AS "cycles left", "cycles_left_lower" AS "at least", "cycles_left_upper" AS "at most", "state", "now", "limit", "unit", "cause" FROM "wash_forecast" WHERE {Conditions.Washer} AND "component" =~ /^bath/ GROUP BY "washer", "component"
                """)
            {
                Width = 24,
                Units = [("now", "none"), ("limit", "none")],
                Links = [("component", ComponentPage)],
            },
            Caution,
        ])
    {
        For = For,
        Pages = [new("Baths", "/baths"), new("Upkeep", "/upkeep")],
    };

    private static Panel Figure(string title, string description, string family, string unit) => new(
        PanelKind.Series,
        title,
        description,
        $"""SELECT mean("value") FROM "wash_figure" WHERE {Conditions.Washer} AND "family" = '{family}' GROUP BY time($__interval), "washer", "figure" FILL(none)""")
    {
        Legend = "$tag_washer $tag_figure",
        Unit = unit,
    };
}
