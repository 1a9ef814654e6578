using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>A unit of measure (OPC 10000-8, 5.6.3); <c>UnitId</c> is the UNECE Rec. 20 code.</summary>
public sealed record EUInformation(string? NamespaceUri, int UnitId, LocalizedText DisplayName, LocalizedText Description) : IEncodable<EUInformation>
{
    public static uint EncodingId => 889;

    public void Write(UaWriter writer)
    {
        writer.WriteString(NamespaceUri);
        writer.WriteInt32(UnitId);
        writer.WriteLocalizedText(DisplayName);
        writer.WriteLocalizedText(Description);
    }

    public static EUInformation Read(ref UaReader reader) => new(
        reader.ReadString(),
        reader.ReadInt32(),
        reader.ReadLocalizedText(),
        reader.ReadLocalizedText());
}

/// <summary>The range of a value in its unit (OPC 10000-8, 5.6.2: Range).</summary>
public sealed record EURange(double Low, double High) : IEncodable<EURange>
{
    public static uint EncodingId => 886;

    public void Write(UaWriter writer)
    {
        writer.WriteDouble(Low);
        writer.WriteDouble(High);
    }

    public static EURange Read(ref UaReader reader) => new(
        reader.ReadDouble(),
        reader.ReadDouble());
}

/// <summary>Which software a server is (OPC 10000-5, 12.4).</summary>
public sealed record BuildInfo(
    string? ProductUri,
    string? ManufacturerName,
    string? ProductName,
    string? SoftwareVersion,
    string? BuildNumber,
    DateTime BuildDate)
    : IEncodable<BuildInfo>
{
    public static uint EncodingId => 340;

    public void Write(UaWriter writer)
    {
        writer.WriteString(ProductUri);
        writer.WriteString(ManufacturerName);
        writer.WriteString(ProductName);
        writer.WriteString(SoftwareVersion);
        writer.WriteString(BuildNumber);
        writer.WriteDateTime(BuildDate);
    }

    public static BuildInfo Read(ref UaReader reader) => new(
        reader.ReadString(),
        reader.ReadString(),
        reader.ReadString(),
        reader.ReadString(),
        reader.ReadString(),
        reader.ReadDateTime());
}

/// <summary>How a server is (OPC 10000-5, 12.10); state 0 is running.</summary>
public sealed record ServerStatus(
    DateTime StartTime,
    DateTime CurrentTime,
    int State,
    BuildInfo BuildInfo,
    uint SecondsTillShutdown,
    LocalizedText ShutdownReason)
    : IEncodable<ServerStatus>
{
    public static uint EncodingId => 864;

    public void Write(UaWriter writer)
    {
        writer.WriteDateTime(StartTime);
        writer.WriteDateTime(CurrentTime);
        writer.WriteInt32(State);
        BuildInfo.Write(writer);
        writer.WriteUInt32(SecondsTillShutdown);
        writer.WriteLocalizedText(ShutdownReason);
    }

    public static ServerStatus Read(ref UaReader reader) => new(
        reader.ReadDateTime(),
        reader.ReadDateTime(),
        reader.ReadInt32(),
        BuildInfo.Read(ref reader),
        reader.ReadUInt32(),
        reader.ReadLocalizedText());
}
