namespace PavementWatch.Dashboards.Texts;

/// <summary>What is said of a probe to those who look after it.</summary>
internal static class ProbeTexts
{
    /// <summary>Nobody has held a thermometer against it.</summary>
    public const string NeverChecked = "This probe was never checked by hand: hold a thermometer against the ground and enter what it shows.";
}
