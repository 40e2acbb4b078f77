namespace PavementWatch.Core.Agreement;

/// <summary>One moment measured by two methods.</summary>
/// <param name="CheckedCelsius">[°C] The method that is checked: a sensor, or the fitted offset's estimate.</param>
/// <param name="ReferenceCelsius">[°C] What it is held against: the hand-held thermometer.</param>
public readonly record struct ComparedPair(double CheckedCelsius, double ReferenceCelsius)
{
    /// <summary>[K] Checked minus reference; positive where the checked method reads high.</summary>
    public double DifferenceKelvin => CheckedCelsius - ReferenceCelsius;
}
