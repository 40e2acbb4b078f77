namespace PavementWatch.Core.Alerts;

/// <summary>Which end of the scale is watched.</summary>
public enum AlertSide
{
    /// <summary>Too hot.</summary>
    Heat = 0,

    /// <summary>Freezing: everything turned over.</summary>
    Cold,
}
