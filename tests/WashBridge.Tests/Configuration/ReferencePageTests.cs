namespace WashBridge.Tests.Configuration;

/// <summary>
/// <c>config/README.md</c> has a written introduction; what follows its last fixed line is made from the schemas. Set WASHBRIDGE_WRITE_EXPECTED=1
/// to write it anew after changing a schema.
/// </summary>
public sealed class ReferencePageTests
{
    private const string LastFixedLine = "<!-- Below: made from the schemas by ReferencePageTests. -->\n";

    private static readonly string File = Path.Combine(Repository.Root, "config/README.md");

    [Fact]
    public void The_reference_page_is_what_the_schemas_say()
    {
        var page = System.IO.File.ReadAllText(File);
        var introduction = page[..(page.IndexOf(LastFixedLine, StringComparison.Ordinal) + LastFixedLine.Length)];
        var expected = ReferencePage.Write(introduction);
        if (Environment.GetEnvironmentVariable("WASHBRIDGE_WRITE_EXPECTED") == "1")
        {
            System.IO.File.WriteAllText(File, expected);
            page = expected;
        }

        Assert.Equal(expected, page);
    }
}
