namespace WashBridge.Web;

/// <summary>Units as people read them: the historian's are UCUM-like codes.</summary>
public static class Units
{
    public static string Of(string code) => code switch
    {
        "Cel" => "°C",
        "Cel/min" => "°C/min",
        "bar(a)" => "bar abs.",
        _ => code,
    };
}
