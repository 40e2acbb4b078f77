using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Demo;

/// <summary>The true surface temperature of each demo spot, minute by minute, from heat conduction in layered ground.</summary>
/// <remarks>
/// Explicit finite differences of the one-dimensional heat equation under sun, sky, wind and evaporation. It shares
/// nothing with the offset model but the sun's position, so the fit has something to find. What water takes up and gives
/// off when it freezes and thaws is left out. Grows as it is asked.
/// </remarks>
internal sealed class DemoGround
{
    private const double StefanBoltzmann = 5.670374419e-8;
    private const double SecondsPerStep = 10;
    private const int Layers = 9;
    private const double FirstLayerMeters = 0.008;
    private const double LayerGrowth = 1.5;

    // Grass that rests gives off little.
    private const double WinterEvaporationFraction = 0.25;

    private readonly DateTimeOffset _from;
    private readonly Dictionary<SpotId, Column> _columns;
    private readonly Lock _lock = new();

    /// <param name="day">The day whose weather it is.</param>
    /// <param name="spots">The spots to follow.</param>
    /// <param name="from">First moment that can be asked for; the ground has settled for two days before it.</param>
    public DemoGround(DemoDay day, IEnumerable<DemoSpot> spots, DateTimeOffset from)
    {
        _from = from.AddDays(-2);
        _columns = spots.ToDictionary(spot => spot.Spot.Id, spot => new Column(day, spot, day.At(_from).AirCelsius));
    }

    /// <summary>[°C] The spot's surface at a moment, between whole minutes interpolated.</summary>
    public double SurfaceCelsius(SpotId spot, DateTimeOffset at)
    {
        var minutes = (at - _from).TotalMinutes;
        ArgumentOutOfRangeException.ThrowIfNegative(minutes);
        var index = (int)minutes;
        lock (_lock)
        {
            var column = _columns[spot];
            while (column.SurfaceByMinute.Count <= index + 1)
                column.AdvanceOneMinute(_from.AddMinutes(column.SurfaceByMinute.Count));
            var before = column.SurfaceByMinute[index];
            return before + ((minutes - index) * (column.SurfaceByMinute[index + 1] - before));
        }
    }

    private sealed class Column
    {
        private readonly DemoDay _day;
        private readonly DemoSpot _spot;
        private readonly DemoShade _shade;
        private readonly double _evaporatingShare;
        private readonly double _emissivity;
        private readonly double[] _layerCelsius = new double[Layers];
        private readonly double[] _thicknessMeters = new double[Layers];
        private readonly double[] _flux = new double[Layers + 1];

        public Column(DemoDay day, DemoSpot spot, double startCelsius)
        {
            (_day, _spot) = (day, spot);
            _shade = day.IsWinter ? spot.InWinter : spot.InSummer;
            _evaporatingShare = spot.EvaporatingShare * (day.IsWinter ? WinterEvaporationFraction : 1);
            _emissivity = spot.Spot.SurfaceEmissivityFraction();
            Array.Fill(_layerCelsius, startCelsius);
            for (var i = 0; i < Layers; i++)
                _thicknessMeters[i] = FirstLayerMeters * Math.Pow(LayerGrowth, i);
        }

        public List<double> SurfaceByMinute { get; } = [];

        public void AdvanceOneMinute(DateTimeOffset at)
        {
            var sky = _day.At(at);
            var localHour = _day.Local(at).TimeOfDay.TotalHours;
            var shaded = localHour < _shade.UntilLocalHour || localHour >= _shade.FromLocalHour;
            // In shade a fifth of the sun's light still comes from the sky.
            var sun = sky.SolarWattsPerSquareMeter * (shaded ? 0.2 : 1);
            var convection = 6.0 + (3.8 * sky.WindMetersPerSecond);
            var longwave = sky.LongwaveWattsPerSquareMeter;
            for (var step = 0; step < 60 / SecondsPerStep; step++)
                Step(sun, longwave, convection, sky.AirCelsius);
            SurfaceByMinute.Add(_layerCelsius[0]);
        }

        private void Step(double sun, double longwave, double convection, double airCelsius)
        {
            var surfaceAbsoluteKelvin = _layerCelsius[0] + 273.15;
            var net = (_spot.Absorptance * sun)
                + (_emissivity * (longwave - (StefanBoltzmann * Math.Pow(surfaceAbsoluteKelvin, 4))));
            var evaporation = Math.Max(0, net) * _evaporatingShare;
            _flux[0] = net - evaporation - (convection * (_layerCelsius[0] - airCelsius));
            for (var i = 1; i < Layers; i++)
            {
                var distance = (_thicknessMeters[i - 1] + _thicknessMeters[i]) / 2;
                _flux[i] = _spot.Conductivity * (_layerCelsius[i - 1] - _layerCelsius[i]) / distance;
            }

            for (var i = 0; i < Layers; i++)
            {
                _layerCelsius[i] += SecondsPerStep * (_flux[i] - _flux[i + 1])
                    / (_spot.HeatCapacity * _thicknessMeters[i]);
            }
        }
    }
}
