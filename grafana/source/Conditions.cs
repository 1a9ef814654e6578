namespace WashBridge.Grafana;

/// <summary>What every panel's query is limited to. Grafana fills in the variables, as regular expressions, and the time of the page.</summary>
internal static class Conditions
{
    public const string Site = "\"site\" =~ /^$site$/ AND $timeFilter";
    public const string Washer = "\"site\" =~ /^$site$/ AND \"washer\" =~ /^$washer$/ AND $timeFilter";
    public const string Station = "\"site\" =~ /^$site$/ AND \"washer\" =~ /^$washer$/ AND \"station\" =~ /^$station$/ AND $timeFilter";
}
