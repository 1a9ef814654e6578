using WashBridge.Core.Time;

namespace WashBridge.Historian.Export;

internal enum ColumnKind
{
    Text = 0,
    Integer = 1,
    Number = 2,
    Time = 3,
}

/// <summary>A column of an exported table. Values are string, long, double or <see cref="Instant"/>, or null.</summary>
internal sealed record TableColumn(string Name, ColumnKind Kind)
{
    public static TableColumn Text(string name) => new(name, ColumnKind.Text);

    public static TableColumn Integer(string name) => new(name, ColumnKind.Integer);

    public static TableColumn Number(string name) => new(name, ColumnKind.Number);

    public static TableColumn Time(string name) => new(name, ColumnKind.Time);
}
