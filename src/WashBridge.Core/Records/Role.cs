using System.Text.Json.Serialization;

namespace WashBridge.Core.Records;

/// <summary>What a person may do here; each may do all that those before it may.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<Role>))]
public enum Role
{
    Viewer = 0,
    Operator = 1,
    Qa = 2,
    Administrator = 3,
}

/// <summary>By which way something was told.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<Means>))]
public enum Means
{
    Page = 0,
    Api = 1,
    Command = 2,
    Scanner = 3,
}
