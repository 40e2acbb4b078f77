namespace PavementWatch.Dashboards.Checks;

/// <summary>Checks in plain words.</summary>
internal static class CheckTexts
{
    /// <summary>What the ground was like, in a word.</summary>
    public static string Ground(CheckedGround ground) => ground switch
    {
        CheckedGround.Sun => "sun",
        CheckedGround.Shade => "shade",
        CheckedGround.Wet => "wet",
        _ => "not said",
    };

    /// <summary>What a field of the form is called.</summary>
    public static string Label(CheckField field) => field switch
    {
        CheckField.Temperature => "Temperature shown",
        CheckField.Emissivity => "Emissivity setting",
        _ => field.ToString(),
    };
}
