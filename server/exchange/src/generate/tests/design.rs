//! A small design for tests. All of it is invented.

use crate::generate::Design;
use tempfile::TempDir;

const FILES: [(&str, &str); 13] = [
    (
        "parts",
        "part,title,kind\n\
         K10,isolating cock,isolating_cock\nK11,isolating cock,isolating_cock\n\
         C7,caliper with cylinder,caliper\nP2,parking brake cylinder,parking_cylinder\n\
         A5,compressor,compressor\nH1,hose,hose\n",
    ),
    (
        "car_types",
        "car_type,revision,fleet,title,vehicle_kind,hand_brake,usual_brake_position,\
         length_mm,speed_max_km_h,daily_km_max,mass_minimum_kg,rotating_mass_kg,wheel_new_mm,wheel_worn_mm,\
         adhesion_max_thousandths,demand_sharing,main_air_least_mbar\n\
         RM,A,Tarn,motor car,car,inside,R,20000,120,900,40000,2300,860,800,150,over_the_train,7800\n\
         RT,A,Tarn,trailer,car,outside_or_none,,20000,120,900,30000,,,,,,\n\
         LO,B,Fell,locomotive,locomotive,,,18000,120,1200,,,,,,,\n",
    ),
    (
        "axles",
        "car_type,revision,bogie,axle,along_mm\n\
         RM,A,1,1,3000\nRM,A,1,2,5000\nRM,A,2,3,15000\nRM,A,2,4,17000\n\
         RT,A,1,1,3000\nRT,A,1,2,5000\nLO,B,1,1,3000\nLO,B,1,2,5500\n",
    ),
    (
        "positions",
        "car_type,revision,position,title,kind,bogie,axle,along_mm,approved_parts,aliases,\
         behaviour,modes,venting,volume_l,holding_force_n\n\
         RM,A,=BS-A1,compressor,compressor,,,9000,A5,,source,service;emergency;holding,,,\n\
         RM,A,=BS-Q1,cock 1,isolating_cock,1,,8000,K10;K11,label 7@car label,cock,,yes,,\n\
         RM,A,=BS-Q2,cock 2,isolating_cock,2,,8200,K10;K11,,cock,,no,,\n\
         RM,A,=BS-C1,caliper 1,caliper,1,1,3000,C7,,air_applied,,,,\n\
         RM,A,=BS-C2,caliper 2,caliper,1,2,5000,C7,,air_applied,,,,\n\
         RM,A,=PB-C1,parking 1,parking_cylinder,2,3,15000,P2,,spring_applied,,,,22000\n\
         RM,A,=BS-H1,hose,hose,,,0,H1,,pass,,,,\n\
         RT,A,=BS-Q1,cock 1,isolating_cock,1,,8000,K10,,cock,,yes,,\n\
         RT,A,=BS-C1,caliper 1,caliper,1,1,3000,C7,,air_applied,,,,\n\
         RT,A,=BS-C2,caliper 2,caliper,1,2,5000,C7,,air_applied,,,,\n\
         LO,B,=BS-A1,compressor,compressor,,,9000,A5,,source,service,,,\n\
         LO,B,=BS-Q1,cock 1,isolating_cock,1,,8000,K10,,cock,,yes,,\n\
         LO,B,=BS-T1,reservoir,reservoir,,,9000,,,reservoir,,,250,\n",
    ),
    (
        "lines",
        "car_type,revision,from,to,input,medium,modes\n\
         RM,A,=BS-A1,=BS-Q1,in,main_air,\nRM,A,=BS-Q1,=BS-C1,in,main_air,service\n\
         RM,A,=BS-Q1,=BS-C2,in,main_air,service\nRM,A,=BS-A1,=BS-Q2,in,main_air,\n\
         RM,A,=BS-Q2,=PB-C1,in,main_air,\nRM,A,=BS-A1,=BS-H1,in,main_air,\n\
         RM,A,=BS-H1,end1:main_pipe,out,main_air,\n\
         RT,A,end1:main_pipe,=BS-Q1,in,main_air,\nRT,A,=BS-Q1,=BS-C1,in,main_air,\n\
         RT,A,=BS-Q1,=BS-C2,in,main_air,\n\
         LO,B,=BS-A1,=BS-Q1,in,main_air,\nLO,B,=BS-Q1,=BS-T1,in,main_air,\n",
    ),
    (
        "braked_weights",
        "car_type,revision,position,brake_position,load,braked_weight_kg\n\
         RM,A,=BS-C1,R,minimum,9000\n",
    ),
    (
        "brake_groups",
        "car_type,revision,group,positions,acts_on,friction_radius_mm,piston_area_mm2,\
         cylinder_efficiency_thousandths,spring_n,ratio_thousandths,adjuster_n,\
         efficiency_thousandths,friction_thousandths,stop_energy_max_kj,cylinder_volume_ml\n\
         RM,A,calipers,=BS-C1;=BS-C2,disc,247,26000,960,450,2450,0,950,350,7500,900\n\
         RT,A,blocks,=BS-C1,tread,,30000,970,600,5000,100,930,250,,\n",
    ),
    (
        "cylinder_pressures",
        "car_type,revision,group,brake_position,load,pressure_mbar,delay_ms,rise_ms\n\
         RM,A,calipers,R,minimum,3000,800,3600\nRM,A,calipers,P,minimum,2500,800,4200\n",
    ),
    (
        "tasks",
        "task,revision,title,kind,part,car_type,counts_from,clock_start,satisfies,source,days,\
         days_late,months,months_early,km,km_early,compressor_hours\n\
         C7-OVHL,1,overhaul,overhaul,C7,,done,overhaul,C7-TEST,invented,,,96,60,,,\n\
         C7-TEST,1,test,test,C7,,due_point,overhaul,,invented,,,12,30,,,\n\
         K10-OVHL,1,overhaul,overhaul,K10,,done,overhaul,,invented,,,96,60,900000,10000.5,\n\
         A5-OVHL,1,overhaul,overhaul,A5,,done,fitting,,invented,,,,,,,12000\n\
         H1-LIFE,1,end of life,life_limit,H1,,done,overhaul,,invented,,,72,,,,\n\
         RM-INSP,1,inspection,inspection,,RM,done,overhaul,,invented,92,7,,,,,\n\
         RM-TEST,1,brake test,test,,RM,due_point,overhaul,,invented,,,6,15,,,\n",
    ),
    (
        "procedures",
        "procedure,revision,title,part,car_type,source,measurand,load,role,unit,lower,upper\n\
         C7-T,A,caliper test,C7,,invented,stroke,,result,mm,8,14\n\
         C7-T,A,caliper test,C7,,invented,temperature,,condition,°C,0,40\n",
    ),
    (
        "rule_sets",
        "rule_set,revision,issuer,proposed_by,approved_by,note,valid_from,train_kinds\n\
         Tarn rules,A,Tarn,Reed,Sedge,figures of an example,2020-01-01,commuter\n",
    ),
    (
        "rules",
        "rule_set,revision,rule,title,source_kind,source,further_than_m,requirement\n\
         Tarn rules,A,1,share,operator,invented,,\"{\"\"always\"\":\"\"may_run\"\"}\"\n\
         Tarn rules,A,2,far,common_practice,,1000.5,\"{\"\"always\"\":\"\"may_not_run\"\"}\"\n",
    ),
    (
        "formations",
        "formation,place,car_type,revision,orientation,share\n\
         R3,1,RM,A,forward,3\nR3,2,RT,A,forward,3\nR3,3,RM,A,reversed,3\n\
         S4,1,LO,B,forward,1\nS4,2,RT,A,forward,1\nS4,3,RT,A,forward,1\nS4,4,RT,A,reversed,1\n",
    ),
];

/// The design's folder.
pub(super) fn folder() -> TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for (name, content) in FILES {
        let file = folder.path().join(format!("{name}.csv"));
        std::fs::write(file, content).expect("a file");
    }
    folder
}

/// The design.
pub(super) fn design() -> Design {
    Design::read(folder().path()).expect("a design")
}
