using Microsoft.Extensions.Localization;

namespace WashBridge.Tests.Web;

/// <summary>Texts that are their own keys.</summary>
internal sealed class PlainTexts<T> : IStringLocalizer<T>
{
    public LocalizedString this[string name] => new(name, name);

    public LocalizedString this[string name, params object[] arguments] => new(name, $"{name} {string.Join(' ', arguments)}");

    public IEnumerable<LocalizedString> GetAllStrings(bool includeParentCultures) => [];
}
