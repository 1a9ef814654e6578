namespace WashBridge.Grafana;

/// <summary>What somebody is called for.</summary>
/// <param name="Uid">Stays, so that a new version of the file changes the rule instead of adding one.</param>
/// <param name="Title">For people.</param>
/// <param name="Query">One series for everything that can be in the state, a number each.</param>
/// <param name="Seconds">So far back it looks.</param>
/// <param name="IsAbove">It fires above the limit; else below.</param>
/// <param name="Limit">The number beyond which it fires.</param>
/// <param name="For">So long it must hold, such as <c>5m</c>.</param>
/// <param name="Panel">Dashboard and title of the panel that shows it.</param>
internal sealed record Rule(string Uid, string Title, string Query, int Seconds, bool IsAbove, double Limit, string For, (string Dashboard, string Title) Panel)
{
    /// <summary>Who is called: a label by which notification policies choose.</summary>
    public required string Audience { get; init; }

    /// <summary>What it is, and what to look at.</summary>
    public required string Summary { get; init; }

    /// <summary>What it means, and what else to know.</summary>
    public required string Description { get; init; }

    /// <summary>Below the address of WashBridge's own pages.</summary>
    public required string Page { get; init; }

    /// <summary>No series is an alarm of its own; else it means that all is well.</summary>
    public bool FiresOnSilence { get; init; }
}

internal static class Rules
{
    private const int Minute = 60;
    private const int Hour = 60 * Minute;
    private const int Day = 24 * Hour;

    /// <summary>Cycles that a drain valve should be good for at least: some days of washing, to order a part and choose a quiet hour. Common practice, no source.</summary>
    private const int LeastCycles = 200;

    private const double LeastFreeBytes = 5e9;

    public static IReadOnlyList<Rule> All { get; } =
    [
        new("washbridge-silent", "Data is missing: the bridge is silent", """SELECT count("store_bytes") FROM "wash_bridge" WHERE $timeFilter GROUP BY "site" """, 10 * Minute, IsAbove: false, 1, "0s", ("washbridge-data", "Historian"))
        {
            Audience = "it",
            FiresOnSilence = true,
            Summary = "Nothing came from WashBridge for 10 minutes. Look whether its service runs, then at the network between it and InfluxDB, then at InfluxDB.",
            Description = "The bridge tells every minute how it stands, whether or not anybody washes. Kegs washed meanwhile are not lost if the service runs: it sends what is missing afterwards. If it does not run, they cannot be proven.",
            Page = "/data",
        },
        new("washbridge-not-read", "Washer is not read", """SELECT sum("done") FROM "wash_read" WHERE $timeFilter GROUP BY "site", "washer" """, 5 * Minute, IsAbove: false, 1, "2m", ("washbridge-now", "Is each washer read?"))
        {
            Audience = "technician",
            Summary = "Washer {{ $labels.washer }} was not read for 5 minutes. Look at the controller's power and network first; the page names the error.",
            Description = "Kegs that are washed now cannot be proven. A washer that was switched off on purpose is no fault: silence this alert for it.",
            Page = "/data",
        },
        new("washbridge-not-met", "Kegs did not meet their recipe", """SELECT sum("not_met") FROM "wash_keg" WHERE $timeFilter GROUP BY "site", "washer" """, Hour, IsAbove: true, 0, "0s", ("washbridge-quality", "Kegs that need a decision"))
        {
            Audience = "quality",
            Summary = "{{ $values.B }} kegs of washer {{ $labels.washer }} did not meet their recipe in the last hour. Hold them, and look at which requirement they missed.",
            Description = "Not met means that it was certainly missed, whatever the uncertainty. Release stays a person's decision.",
            Page = "/kegs/release?washer={{ $labels.washer }}",
        },
        new("washbridge-not-proven", "Many kegs are not proven", """SELECT 100 * mean("not_proven") FROM "wash_keg" WHERE $timeFilter GROUP BY "site", "washer" """, 2 * Hour, IsAbove: true, 20, "0s", ("washbridge-quality", "Kegs by verdict, in the course of time"))
        {
            Audience = "quality",
            Summary = "{{ $values.B }} % of the kegs of washer {{ $labels.washer }} were not proven in the last 2 hours. Look for gaps in its connection, then at what its tag map cannot let anybody judge.",
            Description = "Not proven means that what was seen leaves it open. It is mostly a matter of reading, not of washing.",
            Page = "/data",
        },
        new("washbridge-valve", "Drain valve will fail soon", $"""SELECT "left" FROM (SELECT last("cycles"), "cycles_left_lower" AS "left" FROM "wash_forecast" WHERE $timeFilter AND "component" =~ /^drain-valve/ GROUP BY "site", "washer", "component") WHERE $timeFilter AND "left" >= 0 GROUP BY "site", "washer", "component" """, 30 * Day, IsAbove: false, LeastCycles, "0s", ("washbridge-drains", "Cycles left of every component"))
        {
            Audience = "technician",
            Summary = $"The {{{{ $labels.component }}}} of washer {{{{ $labels.washer }}}} may have only {{{{ $values.B }}}} cycles left (limit {LeastCycles}). Look at strainer and seat of that valve, and at the evidence on its page.",
            Description = "The number is the lower end of the interval that holds the true one in 8 of 10 cases. Record the work when it is done, or the forecast does not begin anew. Stop and isolate the washer by your site's procedures before you open anything: what drains is hot and caustic.",
            Page = "/upkeep/{{ $labels.washer }}/{{ $labels.component }}",
        },
        new("washbridge-backlog", "A follower of the log is behind", """SELECT last("late_s") FROM "wash_follower" WHERE $timeFilter GROUP BY "site", "follower" """, 10 * Minute, IsAbove: true, 10 * Minute, "5m", ("washbridge-data", "How late each follower is"))
        {
            Audience = "it",
            Summary = "{{ $labels.follower }} is {{ $values.B }} s behind the log. Look at the server that it writes to, then at the processor time of the bridge; the page has the reason.",
            Description = "Nothing is lost: the log is the queue. But what is behind it, such as alarms or this database, is late by as much.",
            Page = "/data",
        },
        new("washbridge-disk", "The historian's disk fills", """SELECT last("disk_free_bytes") FROM "wash_bridge" WHERE $timeFilter GROUP BY "site" """, 10 * Minute, IsAbove: false, LeastFreeBytes, "5m", ("washbridge-data", "Free on the historian's disk"))
        {
            Audience = "it",
            Summary = "{{ humanize1024 $values.B.Value }}B are left on the historian's disk. Make room, or let samples be kept for less long (keep-samples in the site file).",
            Description = "When the disk is full nothing more can be recorded, and no keg can be proven. The page tells how long the rest lasts at the present growth.",
            Page = "/data",
        },
    ];
}
