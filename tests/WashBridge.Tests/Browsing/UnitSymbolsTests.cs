using WashBridge.Browsing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Tests.Browsing;

public sealed class UnitSymbolsTests
{
    private const string Unece = "http://www.opcfoundation.org/UA/units/un/cefact";

    /// <summary>Numbers of units as OPC UA keeps them. 4408652 is that of the independent server of the tests; the others: value from memory.</summary>
    [Theory]
    [InlineData(4408652, "Grad Celsius", "°C")]
    [InlineData(4342098, "Bar", "bar")]
    [InlineData(20529, "Prozent", "%")]
    [InlineData(5457219, "Sekunde", "s")]
    public void A_code_is_understood_in_whatever_language_the_name_is(int id, string name, string symbol) =>
        Assert.Equal(symbol, UnitSymbols.Of(new EUInformation(Unece, id, new LocalizedText(name), default)));

    [Fact]
    public void A_unit_of_another_list_keeps_its_name()
    {
        Assert.Equal("degree Plato", UnitSymbols.Of(new EUInformation("urn:example:units", 4408652, new LocalizedText("degree Plato"), default)));
        Assert.Equal("kg", UnitSymbols.Of(new EUInformation(Unece, 4933453, new LocalizedText("kg"), default)));
        Assert.Equal("", UnitSymbols.Of(null));
    }
}
