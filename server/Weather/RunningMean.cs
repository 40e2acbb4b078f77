namespace PavementWatch.Server.Weather;

/// <summary>A mean in the making.</summary>
internal struct RunningMean
{
    private double _sum;

    /// <summary>How many values it is of.</summary>
    public int Count { get; private set; }

    /// <summary>The mean; <c>null</c> of nothing.</summary>
    public readonly double? Value => Count > 0 ? _sum / Count : null;

    /// <summary>One that was made of so many values.</summary>
    public static RunningMean Of(double? mean, int count) => mean is { } m ? new RunningMean { _sum = m * count, Count = count } : default;

    /// <summary>Takes a value, if there is one.</summary>
    public void Add(double? value)
    {
        if (value is not { } v)
            return;
        _sum += v;
        Count++;
    }
}
